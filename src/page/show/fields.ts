import { PolewardError, attempt } from '../../error.js';
import { made } from '../../panel/page/element.js';

/** A field of a form: what it is called, what to write there, and what stands in it. */
export interface Field {
  readonly name: string;
  readonly label: string;
  readonly help?: string;
  readonly value: string;
  /** What may be chosen; absent where anything may be written. */
  readonly choices?: readonly (readonly [value: string, words: string])[];
  readonly required?: boolean;
  readonly numeric?: boolean;
}

/** A group of fields under a heading. */
export function fieldset(legend: string, ...content: readonly (Node | null)[]): HTMLFieldSetElement {
  const set = made('fieldset', '') as HTMLFieldSetElement;
  set.append(made('legend', '', legend), ...content.filter((node) => node !== null));
  return set;
}

/** Fields two in a row. */
export function pair(...content: readonly Node[]): HTMLElement {
  const row = made('div', 'pair');
  row.append(...content);
  return row;
}

export function field({ name, label, help, value, choices, required, numeric }: Field): HTMLLabelElement {
  const whole = made('label', 'field') as HTMLLabelElement;
  whole.append(made('span', '', label));
  const input = choices ? choice(choices) : made('input', '') as HTMLInputElement;
  input.name = name;
  input.value = value;
  input.autocomplete = 'off';
  if (required) input.required = true;
  if (numeric && input instanceof HTMLInputElement) input.inputMode = 'decimal';
  whole.append(input);
  if (help) whole.append(made('small', '', help));
  return whole;
}

export function check(name: string, label: string, value: boolean): HTMLLabelElement {
  const whole = made('label', 'check') as HTMLLabelElement;
  const input = made('input', '') as HTMLInputElement;
  input.type = 'checkbox';
  input.name = name;
  input.checked = value;
  whole.append(input, label);
  return whole;
}

export function button(words: string, done: () => void, type: 'button' | 'submit' = 'button'): HTMLButtonElement {
  const made_ = made('button', '', words) as HTMLButtonElement;
  made_.type = type;
  if (type === 'button') made_.addEventListener('click', done);
  return made_;
}

function choice(choices: NonNullable<Field['choices']>): HTMLSelectElement {
  const select = made('select', '') as HTMLSelectElement;
  for (const [value, words] of choices) {
    const option = made('option', '', words) as HTMLOptionElement;
    option.value = value;
    select.append(option);
  }
  return select;
}

/** What stands in a form, by the names of its fields. */
export function textOf(form: HTMLFormElement, name: string): string {
  const found = form.elements.namedItem(name);
  return found instanceof HTMLInputElement || found instanceof HTMLSelectElement ? found.value.trim() : '';
}

/** What a field's text says by a reader of `tasks/given/written.ts`; null where it is empty. Throws {@link FieldFault}. */
export function written<T>(form: HTMLFormElement, name: string, read: (text: string) => T): T | null {
  const text = textOf(form, name);
  const value = text === '' ? null : attempt(() => read(text));
  if (value instanceof PolewardError) throw new FieldFault(name, value.message);
  return value;
}

/** A field's number; null where it is empty. Throws {@link FieldFault} where it is none or out of range. */
export function numberOf(form: HTMLFormElement, name: string, [least, most]: readonly [number, number], called: string): number | null {
  const text = textOf(form, name).replace(',', '.').replace('−', '-');
  if (text === '') return null;
  const value = Number(text);
  if (Number.isFinite(value) && value >= least && value <= most) return value;
  throw new FieldFault(name, `The ${called} "${text}" is not a number from ${least} to ${most}. Write it without its unit.`);
}

/** A field's text can't be used. */
export class FieldFault extends Error {
  constructor(readonly field: string, message: string) {
    super(message);
  }
}

/** Runs what reads a form; a fault is marked at its field and said. */
export function readForm(form: HTMLFormElement, say: (message: string) => void, work: () => void): void {
  for (const element of form.elements) element.removeAttribute('aria-invalid');
  try {
    work();
    say('');
  } catch (error) {
    if (!(error instanceof FieldFault)) throw error;
    const at = form.elements.namedItem(error.field);
    if (at instanceof HTMLElement) {
      at.setAttribute('aria-invalid', 'true');
      at.focus();
    }
    say(error.message);
  }
}
