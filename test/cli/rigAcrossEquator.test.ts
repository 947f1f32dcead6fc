import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { ordinaryNight } from '../../src/simulate/nightPlan.js';
import { makeSite } from '../../src/sky/site.js';
import { poleward, scratchFolder, writeNight } from './poleward.js';

/** The axis is 12′ too far west in both hemispheres: it must go east. */
const TRUTH = { altitudeErrorArcmin: 10, azimuthErrorArcmin: -12 };
const NORTH = { latitudeDeg: 46.5, longitudeDeg: 11.2 };
const SOUTH = { latitudeDeg: -33.9, longitudeDeg: 18.4 };
const southern = ordinaryNight(makeSite({ ...SOUTH, elevationMetres: 300 }), new Date('2026-11-25T20:00:00Z'));
const frames = { north: writeNight(scratchFolder(), TRUTH), south: writeNight(scratchFolder(), { ...southern, ...TRUTH }) };
const wordsOf = ({ latitudeDeg, longitudeDeg }: typeof NORTH): string[] => [`--latitude=${latitudeDeg}`, `--longitude=${longitudeDeg}`];

function advice(at: 'north' | 'south', rig: object, ...words: string[]): { move: string; direction: string; turns: number } {
  const path = join(scratchFolder(), 'rig.json');
  writeFileSync(path, JSON.stringify(rig));
  const ran = poleward('measure', ...frames[at], '--rig', path, ...words, '--json');
  expect(ran.status, ran.err).toBe(0);
  return (JSON.parse(ran.out) as { knobs: { move: string; direction: string; turns: number }[] }).knobs[0]!;
}
const knob = (clockwise: string) => ({ knobs: { azimuth: { arcminPerTurn: 60, clockwise } } });

test.each([
  // Facing north, east is at the right hand; facing south, at the left.
  ['right', 'north', 'clockwise'], ['right', 'south', 'counter-clockwise'],
  ['left', 'north', 'counter-clockwise'], ['left', 'south', 'clockwise'],
] as const)('a knob that moves the axis to the %s is turned in the %s %s', (way, at, direction) => {
  expect(advice(at, knob(way), ...wordsOf(at === 'north' ? NORTH : SOUTH))).toMatchObject({ move: 'east', direction, turns: 0.2 });
});

test('a file that says east is read at its own site: across the equator the same screw goes west', () => {
  expect(advice('south', { ...knob('east'), site: NORTH }, ...wordsOf(SOUTH)).direction).toBe('counter-clockwise');
  expect(advice('south', { ...knob('east'), site: NORTH, sites: { cape: SOUTH } }, '--site', 'cape').direction).toBe('counter-clockwise');
  expect(advice('south', { ...knob('east'), site: SOUTH }).direction).toBe('clockwise');
  expect(advice('north', { ...knob('east'), site: NORTH }).direction).toBe('clockwise');
  expect(advice('south', knob('east'), ...wordsOf(SOUTH)).direction).toBe('clockwise');
});
