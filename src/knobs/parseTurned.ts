import { PolewardError } from '../error.js';
import type { KnobTurned } from './learnedKnobs.js';

/** More turns than any knob has. */
const MOST_TURNS = 100;

/**
 * What a person says was turned, one text for each turn, in the order in which they were made: "azimuth=+0.5", "altitude=-1/4".
 * Turns are + = clockwise seen facing the knob; of a push-pull pair + = tightening the screw that the rig file names.
 * Throws PolewardError `bad-option`.
 */
export function parseTurned(texts: readonly string[]): KnobTurned[] {
  return texts.map((text) => {
    const match = /^\s*(azimuth|altitude)\s*=\s*([+\-−]?)\s*(\d+(?:[.,]\d*)?|[.,]\d+)(?:\s*\/\s*(\d+(?:[.,]\d+)?))?\s*$/i.exec(text);
    const turns = match ? (decimal(match[3]!) / decimal(match[4] ?? '1')) * (match[2] === '-' || match[2] === '−' ? -1 : 1) : NaN;
    if (!match || !(Math.abs(turns) <= MOST_TURNS)) {
      throw new PolewardError('bad-option', `"${text}" is not a turn of a knob. Write the knob and its turns, clockwise positive, `
        + 'like azimuth=+0.5 or altitude=-1/4.');
    }
    return { knob: match[1]!.toLowerCase() as KnobTurned['knob'], turns };
  });
}

function decimal(text: string): number {
  return Number(text.replace(',', '.'));
}

/** The turns of an advice that was followed as given, in its order. */
export function followedTurns(
  advice: readonly { readonly knob: KnobTurned['knob']; readonly steps: readonly number[]; readonly trial: number | null }[],
): KnobTurned[] {
  return advice.flatMap(
    ({ knob, steps, trial }) => (steps.length > 0 ? steps : trial !== null ? [trial] : []).map((turns) => ({ knob, turns })),
  );
}
