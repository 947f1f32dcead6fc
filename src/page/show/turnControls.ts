import type { KnobTurned } from '../../knobs/learnedKnobs.js';
import { made } from '../../panel/page/element.js';

/** More turns than anyone counts. */
const MOST_TURNS = 50;
const STEP = 0.05;

/** "azimuth 0.43 clockwise" */
export function turnedWords({ knob, turns }: KnobTurned): string {
  return `${knob} ${amount(turns)}`;
}

/**
 * Controls to say what was turned: a tap on the dial where the knob's mark is now, arrow keys, buttons. Clockwise is positive.
 *
 * @param turns said so far; null for none
 */
export function addTurnControls(
  face: HTMLElement, knob: KnobTurned['knob'], turns: number | null, say: (turns: number | null) => void,
): void {
  const dial = face.querySelector<HTMLElement>('.dial')!;
  const said = turns ?? 0;
  dial.role = 'slider';
  dial.tabIndex = 0;
  dial.ariaLabel = `how far you turned ${knob}, in turns`;
  dial.ariaValueMin = `${-MOST_TURNS}`;
  dial.ariaValueMax = `${MOST_TURNS}`;
  dial.ariaValueNow = said.toFixed(2);
  dial.ariaValueText = turns === null ? 'not turned' : amount(turns);
  if (turns !== null) dial.append(handAt(turns));
  const set = (value: number): void => say(Math.max(-MOST_TURNS, Math.min(MOST_TURNS, Math.round(value * 100) / 100)));
  dial.addEventListener('click', ({ clientX, clientY }) => {
    const { left, top, width, height } = dial.getBoundingClientRect();
    const clockwise = Math.atan2(clientX - left - width / 2, top + height / 2 - clientY) / (2 * Math.PI);
    // A tap sets the part of a turn; whole turns stay.
    set(Math.trunc(said) + clockwise);
  });
  dial.addEventListener('keydown', (event) => {
    const by = { ArrowRight: STEP, ArrowUp: STEP, ArrowLeft: -STEP, ArrowDown: -STEP, PageUp: 1, PageDown: -1 }[event.key];
    if (by === undefined) return;
    event.preventDefault();
    set(said + by);
  });
  const row = made('div', 'turns');
  row.append(made('output', '', `you turned it: ${turns === null ? 'not yet' : amount(turns)}`));
  for (const [words, label, by] of [['−1', 'a turn counter-clockwise', -1], ['−.05', 'a twentieth counter-clockwise', -STEP],
    ['+.05', 'a twentieth clockwise', STEP], ['+1', 'a turn clockwise', 1]] as const) {
    const button = made('button', '', words) as HTMLButtonElement;
    button.type = 'button';
    button.ariaLabel = `${knob}: ${label}`;
    button.addEventListener('click', () => set(said + by));
    row.append(button);
  }
  const none = made('button', '', '0') as HTMLButtonElement;
  none.type = 'button';
  none.ariaLabel = `${knob}: not turned`;
  none.addEventListener('click', () => say(null));
  row.append(none);
  face.append(row);
}

function handAt(turns: number): HTMLElement {
  const hand = made('span', 'hand');
  const mark = document.createElement('i');
  hand.append(mark);
  hand.ariaHidden = 'true';
  hand.style.transform = `rotate(${turns}turn)`;
  return hand;
}

function amount(turns: number): string {
  return `${Math.abs(turns).toFixed(2)} ${turns < 0 ? 'counter-clockwise' : 'clockwise'}`;
}
