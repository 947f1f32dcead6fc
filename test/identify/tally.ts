import { identifyFrame } from '../../src/identify/identifyFrame.js';
import type { SearchHints, SearchMemory } from '../../src/identify/searchPose.js';
import { type FieldPlan, type SimulatedField, poseDifference } from './simulatedField.js';

export interface Tally {
  tried: number; solved: number; wrong: number;
  poor: number; poorSolved: number;
  ms: number[];
  pairs: number; falsePairs: number;
}

export function emptyTally(): Tally {
  return { tried: 0, solved: 0, wrong: 0, poor: 0, poorSolved: 0, ms: [], pairs: 0, falsePairs: 0 };
}

/** Fewer true stars than this can't beat chance: such fields are counted apart. */
export const POOR = 8;

/** Identifies one simulated field and counts what came of it. */
export function tally(into: Tally, plan: FieldPlan, field: SimulatedField, hints: SearchHints, memory: SearchMemory): void {
  const before = performance.now();
  const found = identifyFrame(field.detections, plan.width, plan.height, field.cap, hints, memory);
  const ms = performance.now() - before;
  if (field.real < POOR) {
    into.poor++;
    if (found) into.poorSolved++;
  } else {
    into.tried++;
    into.ms.push(ms);
  }
  if (!found) return;
  if (field.real >= POOR) into.solved++;
  const number = new Map(field.detections.map((d, i) => [d, i]));
  let wrongPairs = 0;
  for (const s of found.stars) if (field.truth[number.get(s.detection)!] !== s.catalogue) wrongPairs++;
  const off = wrongPairs > 0.3 * found.stars.length ? poseDifference(field, plan.width, plan.height, found.pose, found.lens) : 0;
  if (wrongPairs > 0.5 * found.stars.length || off > 0.05 * plan.width) into.wrong++;
  into.pairs += found.stars.length;
  into.falsePairs += wrongPairs;
}

export function quantile(values: readonly number[], q: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(q * sorted.length))] ?? NaN;
}
