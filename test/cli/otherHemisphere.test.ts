import { join } from 'node:path';
import { expect, test } from 'vitest';
import { readSession } from '../../src/node/sessionFile.js';
import { ordinaryNight } from '../../src/simulate/nightPlan.js';
import { makeSite } from '../../src/sky/site.js';
import { adjustmentsIn } from '../../src/tasks/measure/guidance.js';
import { SITE_WORDS, poleward, scratchFolder, writeNight } from './poleward.js';

/** A rig learns its screws in the north and travels south. */
test('a screw that moved the axis east in the north moves it west in the south', () => {
  const session = join(scratchFolder(), 'night.jsonl');
  const before = writeNight(scratchFolder(), { altitudeErrorArcmin: 4, azimuthErrorArcmin: -12 });
  const site = makeSite({ latitudeDeg: 46.5, longitudeDeg: 11.2, elevationMetres: 1200 });
  const [after] = writeNight(scratchFolder(), {
    ...ordinaryNight(site, new Date('2026-11-25T20:05:00Z')), altitudeErrorArcmin: 4, azimuthErrorArcmin: -2, rotationsDeg: [90],
  });
  for (const words of [['measure', ...before], ['recheck', after!, '--turned', 'azimuth=+0.5']]) {
    const { status, err } = poleward(...words, ...SITE_WORDS, '--session', session);
    expect(status, err).toBe(0);
  }
  const night = readSession(session)!;
  const [north] = adjustmentsIn(night, 1), [south] = adjustmentsIn(night, -1);
  expect((north!.change.azimuth * 180 * 60) / Math.PI).toBeCloseTo(10, 0);
  expect(south!.change.azimuth).toBe(-north!.change.azimuth);
  expect(south!.change.altitude).toBe(north!.change.altitude);
  expect(south!.turns).toEqual(north!.turns);
});
