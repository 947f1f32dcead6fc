import type { KnobAdvice } from './adviseTurns.js';
import type { Rig } from './rig.js';

/** What the person is about to do. */
export interface Moment {
  /** `rotate`: turn the mount in right ascension. `turn`: turn the knobs in `advice`. */
  readonly doing: 'rotate' | 'turn';
  readonly advice: readonly KnobAdvice[];
  readonly rig: Rig | null;
}

export interface Caution {
  /** Never changes: sessions remember it. */
  readonly id: string;
  /** One or two short sentences. */
  readonly text: string;
  readonly when: (moment: Moment) => boolean;
}

const turned = ({ doing, advice }: Moment, knob: KnobAdvice['knob']): KnobAdvice | null => {
  const found = doing === 'turn' ? advice.find((a) => a.knob === knob) : undefined;
  return found && found.act !== 'leave' && found.act !== 'below' ? found : null;
};
const anyTurned = (moment: Moment): boolean => turned(moment, 'azimuth') !== null || turned(moment, 'altitude') !== null;

/** The most dangerous first. Common practice at equatorial mounts, all of it. */
export const CAUTIONS: readonly Caution[] = [
  {
    id: 'tube-weight',
    text: 'Hold the weight of the tube before you loosen the altitude bolt: at the end of its thread nothing else holds it.',
    when: (moment) => turned(moment, 'altitude') !== null,
  },
  {
    id: 'counterweight-bar',
    text: 'Keep heads clear of the counterweight bar as the mount turns.',
    when: ({ doing }) => doing === 'rotate',
  },
  {
    id: 'azimuth-screws',
    text: 'Never slacken both azimuth screws at once.',
    // The rig file says that there is a single azimuth knob: it has no second screw.
    when: (moment) =>
      turned(moment, 'azimuth') !== null && (moment.rig?.knobs?.azimuth === undefined || moment.rig.knobs.azimuth.pushPull === true),
  },
  {
    id: 'cables',
    text: 'See that no cable pulls or catches.',
    when: (moment) => moment.doing === 'rotate' || anyTurned(moment),
  },
  {
    id: 'red-light',
    text: 'Red light only, and look where you step.',
    when: (moment) => moment.doing === 'rotate' || anyTurned(moment),
  },
  {
    id: 'maker',
    text: 'Where the mount maker\'s instructions say otherwise, follow them.',
    when: anyTurned,
  },
];

/**
 * The cautions to show now: those for this moment, each once a session.
 * @param shown ids shown in this session already
 * @param again show them once more, because the person asks
 */
export function cautionsFor(moment: Moment, shown: Iterable<string>, again = false): { readonly id: string; readonly text: string }[] {
  const past = new Set(shown);
  return CAUTIONS.filter((c) => c.when(moment) && (again || !past.has(c.id))).map(({ id, text }) => ({ id, text }));
}
