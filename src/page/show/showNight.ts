import { byId, made } from '../../panel/page/element.js';
import { knobFace } from '../../panel/page/knobFace.js';
import type { KnobTurned } from '../../knobs/learnedKnobs.js';
import type { AnswerShown, NightShown, Told } from '../messages.js';
import { addTurnControls, turnedWords } from './turnControls.js';

/** Shows the night: verdict, how far and how sure, what is in doubt, what to do next; dials; what was assumed. */
export function showNight(night: NightShown, sayTurned: (turns: readonly KnobTurned[]) => void): void {
  const { answer, panel, turned } = night;
  byId('verdict').replaceChildren(...(answer?.verdict ?? []).flatMap(({ order, how }) => [
    made('p', '', order), ...(how === '' ? [] : [made('p', 'how', how)]),
  ]));
  byId('sure').textContent = answer?.sure.join('; ') ?? '';
  byId('doubts').replaceChildren(...(answer?.doubts ?? []).map(doubtWords));
  byId('next').textContent = night.next;
  byId('hint').hidden = answer !== null;
  byId('undo').hidden = night.last === null;
  byId('practise').hidden = night.last !== null;
  const focused = byId('knobs').contains(document.activeElement) ? document.activeElement?.ariaLabel ?? null : null;
  byId('knobs').replaceChildren(...panel.knobs.map((knob) => {
    const face = knobFace(knob);
    addTurnControls(face, knob.name, turned.find((t) => t.knob === knob.name)?.turns ?? null, (turns) => {
      const others = turned.filter((t) => t.knob !== knob.name);
      sayTurned(turns === null ? others : [...others, { knob: knob.name, turns }]);
    });
    return face;
  }));
  // The keyboard stays where it was.
  if (focused !== null) byId('knobs').querySelector<HTMLElement>(`[aria-label="${focused}"]`)?.focus({ preventScroll: true });
  byId('said').hidden = turned.length === 0;
  byId('saidText').textContent = `Turned since the last look: ${turned.map(turnedWords).join(', ')}. Save a frame.`;
  showList('cautions', panel.cautions);
  byId('more').hidden = answer === null;
  byId('why').replaceChildren(...(answer?.why ?? []).map((line) => made('p', '', line)));
  byId('assumed').replaceChildren(...(answer?.assumed ?? []).map((line) => made('p', '', line)));
  byId('warnings').replaceChildren(...(answer?.warnings ?? []).map((line) => made('li', '', `warning: ${line}`)));
}

/** What settles a doubt is what to do next, except for one that the next look can't settle. */
function doubtWords({ code, message, settle }: AnswerShown['doubts'][number]): HTMLElement {
  return made('p', '', `in doubt: ${message}${code === 'turn-sign' ? ` ${settle}` : ''}`);
}

function showList(id: string, texts: readonly string[]): void {
  byId(id).hidden = texts.length === 0;
  byId(id).querySelector('ul')!.replaceChildren(...texts.map((text) => made('li', '', text)));
}

export function showTold(told: readonly Told[]): void {
  byId('told').replaceChildren(...told.map(({ kind, text }) => made('p', kind, text)));
}
