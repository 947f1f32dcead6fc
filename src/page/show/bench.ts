import type { KnobName } from '../../knobs/rig.js';
import { byId } from '../../panel/page/element.js';
import { button } from './fields.js';

/** What can be done to a virtual mount. */
export interface BenchDeeds {
  turn(what: KnobName | 'right ascension', amount: number): void;
  frame(): void;
  truth(): Promise<readonly string[]>;
  end(): void;
}

const TURNS: readonly (readonly [what: KnobName | 'right ascension', amounts: readonly number[], unit: string])[] = [
  ['right ascension', [-30, 30], '°'], ['azimuth', [-0.5, -0.1, 0.1, 0.5], ' turn'], ['altitude', [-0.5, -0.1, 0.1, 0.5], ' turn'],
];

/** Controls that are no use in practice. */
const OF_REAL_FRAMES = ['pickLabel', 'watch', 'watchAgain', 'practise', 'watching', 'watchAllLabel', 'hint'];

/** The controls of the virtual mount. Beside each stands what was turned since the last frame. */
export function makeBench(deeds: BenchDeeds): { show(practising: boolean, looks: number): void } {
  const done = new Map<string, number>();
  const said = new Map<string, HTMLElement>();
  const say = (what: string, unit: string): void => {
    const amount = done.get(what) ?? 0;
    const size = `${amount > 0 ? '+' : '−'}${Number(Math.abs(amount).toFixed(2))}${unit}`;
    said.get(what)!.textContent = `${what}: ${amount === 0 ? 'not turned' : size}`;
  };
  byId('benchTurns').append(...TURNS.map(([what, amounts, unit]) => {
    const row = document.createElement('fieldset');
    const legend = document.createElement('legend');
    said.set(what, legend);
    const buttons = document.createElement('div');
    buttons.className = 'row';
    buttons.append(...amounts.map((amount) => {
      const words = `${amount < 0 ? '−' : '+'}${Math.abs(amount)}${unit === '°' ? '°' : ''}`;
      const one = button(words, () => {
        done.set(what, (done.get(what) ?? 0) + amount);
        say(what, unit);
        deeds.turn(what, amount);
      });
      const way = what === 'right ascension' ? (amount < 0 ? 'east' : 'west') : amount < 0 ? 'counter-clockwise' : 'clockwise';
      one.ariaLabel = `${what}: ${Math.abs(amount)}${unit} ${way}`;
      return one;
    }));
    row.append(legend, buttons);
    return row;
  }));
  const forget = (): void => {
    done.clear();
    for (const [what, , unit] of TURNS) say(what, unit);
  };
  forget();
  byId('benchFrame').addEventListener('click', () => {
    forget();
    deeds.frame();
  });
  byId('benchTruth').addEventListener('click', () => void deeds.truth().then((lines) => { byId('truth').textContent = lines.join('\n'); }));
  byId('benchEnd').addEventListener('click', () => deeds.end());
  let before = -1;
  return {
    show(practising, looks) {
      byId('bench').hidden = !practising;
      byId('benchHelp').hidden = looks > 0;
      for (const id of OF_REAL_FRAMES) byId(id).classList.toggle('put-by', practising);
      // It no longer holds after another frame.
      if (looks !== before) byId('truth').textContent = '';
      before = looks;
    },
  };
}
