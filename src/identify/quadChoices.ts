import type { SpotList } from './searchPose.js';

/** Sets of four spots of a frame that are tried, and the spots they are of. */
export interface QuadChoices {
  /** Numbers of the spots. */
  readonly spots: Int32Array;
  /** Four places in `spots` a set. */
  readonly sets: Uint8Array;
}

/** What each list of spots adds to those before it. */
export function quadChoices(lists: readonly SpotList[]): QuadChoices {
  const places = new Map<number, number>();
  const sets: number[] = [];
  const known = new Set<number>();
  for (const { spots, from } of lists) {
    const at = Array.from(spots, (spot) => {
      if (!places.has(spot)) places.set(spot, places.size);
      return places.get(spot)!;
    });
    for (let l = Math.max(3, from); l < at.length; l++) {
      for (let k = 2; k < l; k++) {
        for (let j = 1; j < k; j++) for (let i = 0; i < j; i++) addSet(sets, known, [at[i]!, at[j]!, at[k]!, at[l]!]);
      }
    }
  }
  return { spots: Int32Array.from(places.keys()), sets: Uint8Array.from(sets) };
}

/** A frame has fewer listed spots than this. */
const PLACES = 128;

function addSet(sets: number[], known: Set<number>, four: number[]): void {
  four.sort((a, b) => a - b);
  const key = ((four[0]! * PLACES + four[1]!) * PLACES + four[2]!) * PLACES + four[3]!;
  if (known.has(key)) return;
  known.add(key);
  sets.push(...four);
}
