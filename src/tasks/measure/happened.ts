import type { KnobAdvice } from '../../knobs/adviseTurns.js';
import type { KnobTurned } from '../../knobs/learnedKnobs.js';
import type { Said } from '../../night/poseLook.js';
import type { LaterEntry } from '../../night/record/entry.js';

/**
 * Knobs turned and cautions shown before an answer, as entries of the session. `followed`: the advice that was followed, null where none
 * was.
 */
export function happened(
  now: Date, cautions: readonly { readonly id: string }[], turned: readonly KnobTurned[] = [],
  followed: readonly KnobAdvice[] | null = null,
): LaterEntry[] {
  const at = now.toISOString();
  return [
    ...turned.map(({ knob, turns }, i): LaterEntry => {
      const advised = followed?.find((a) => a.knob === knob);
      const sign = advised && (advised.move === 'east' || advised.move === 'raise') ? 1 : -1;
      // Past the goal and back is one move, which the last of its turns completes.
      const ends = !turned.slice(i + 1).some((later) => later.knob === knob);
      return {
        kind: 'turn', at, knob, turns, followed: followed !== null, expectedArcmin: advised ? (ends ? sign * advised.arcmin : 0) : null,
      };
    }),
    ...cautions.map(({ id }): LaterEntry => ({ kind: 'caution', at, caution: id })),
  ];
}

/** Turns as a look keeps them; undefined where nothing was said. */
export function saidOf(turned: readonly KnobTurned[]): Said | undefined {
  return turned.length === 0 ? undefined : { did: 'knobs', knobs: [...new Set(turned.map((t) => t.knob))] };
}
