import { parseRig, type Rig } from '../../knobs/rig.js';
import { RIG_SCHEMA_NAME } from '../../knobs/rigSchema.js';
import { made } from '../../panel/page/element.js';
import { PolewardError } from '../../error.js';
import { QUESTIONS, type Question, SKIPPED, readAnswer } from '../../tasks/rig/rigQuestions.js';
import type { Settings } from '../keep/settings.js';
import { download } from './download.js';
import { FieldFault, button, field, fieldset, readForm, textOf } from './fields.js';

/** The name of a rig file made here. */
const RIG_FILE = 'poleward.json';

/** The rig: its file opened, edited in a form, saved. `set` keeps it; null takes it away. */
export function rigForm(rig: Settings['rig'], set: (rig: Settings['rig']) => void): HTMLFormElement {
  const form = made('form', '') as HTMLFormElement;
  form.id = 'rig';
  const fault = made('p', 'lines fault');
  fault.role = 'alert';
  const say = (message: string): void => { fault.textContent = message; };
  const known = rig ? parseRig(rig.text, rig.name) : null;
  const fields = made('div', '');
  fields.hidden = true;
  const keep = (text: string, name: string): void => {
    try {
      parseRig(text, name);
      set({ text, name });
      say('');
    } catch (error) {
      if (!(error instanceof PolewardError)) throw error;
      say(error.message);
    }
  };
  const edit = button(rig ? 'edit' : 'make one', () => {
    fields.hidden = !fields.hidden;
    if (fields.childElementCount > 0) return;
    fields.append(...QUESTIONS.map((q) => questionField(q, known)), button('keep this rig', () => {}, 'submit'));
  });
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    readForm(form, say, () => keep(`${JSON.stringify(rigIn(form, known), null, 2)}\n`, rig?.name ?? RIG_FILE));
  });
  const row = made('div', 'row');
  row.append(fileButton((file) => void file.text().then((text) => keep(text, file.name))), edit);
  if (rig) {
    row.append(button('save rig file', () => download(rig.name, rig.text, 'application/json')), button('remove', () => set(null)));
  }
  const named = rig && `${known?.name ? `${known.name}: ` : ''}${rig.name}`;
  const standing = named ?? 'No rig yet. With one, the advice is in turns of your knobs.';
  form.append(fieldset('rig', made('p', '', standing), row, fault, fields));
  return form;
}

function fileButton(picked: (file: File) => void): HTMLLabelElement {
  const label = made('label', 'button', 'open rig file') as HTMLLabelElement;
  const input = made('input', 'unseen') as HTMLInputElement;
  input.type = 'file';
  input.id = 'openRig';
  input.accept = '.json,.jsonc,application/json';
  input.addEventListener('change', () => {
    const [file] = input.files ?? [];
    input.value = '';
    if (file) picked(file);
  });
  label.append(input);
  return label;
}

function questionField({ field: path, ask, why }: Question, known: Rig | null): HTMLLabelElement {
  const value = path.reduce<unknown>((at, name) => (at as Record<string, unknown> | undefined)?.[name], known ?? {});
  return field({ name: path.join('.'), label: ask, help: why, value: value === true ? 'y' : value === undefined ? '' : String(value) });
}

/** The rig with the form's answers. */
function rigIn(form: HTMLFormElement, known: Rig | null): unknown {
  const rig = structuredClone(known ?? {}) as Record<string, unknown>;
  rig['schema'] = RIG_SCHEMA_NAME;
  for (const question of QUESTIONS) {
    const { field: path } = question;
    const name = path.join('.');
    const text = textOf(form, name);
    const answer = text === '' ? { value: SKIPPED } : readAnswer(question, text);
    if ('expected' in answer) throw new FieldFault(name, `"${text}" won't do; expected ${answer.expected}.`);
    put(rig, path, answer.value === SKIPPED ? undefined : answer.value);
  }
  return JSON.parse(JSON.stringify(rig, (_, value: unknown) => (isEmpty(value) ? undefined : value)));
}

function put(rig: Record<string, unknown>, path: readonly string[], value: unknown): void {
  let at = rig;
  for (const part of path.slice(0, -1)) at = (at[part] ??= {}) as Record<string, unknown>;
  at[path.at(-1)!] = value;
}

/** A group in which nothing was answered is left out. */
function isEmpty(value: unknown): boolean {
  return typeof value === 'object' && value !== null && Object.values(value).every((v) => v === undefined || isEmpty(v));
}
