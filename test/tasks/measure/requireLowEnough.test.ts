import { expect, test } from 'vitest';
import { answerAt } from '../../../src/night/night.js';
import { type Measured, requireLowEnough } from '../../../src/tasks/measure/measureFrames.js';
import { makeSite } from '../../../src/sky/site.js';
import { type Done, inventLooks, nightOfInvented } from '../../night/inventedLooks.js';

/** As much of an answer as is looked at. */
function measured(latitudeDeg: number, ...deeds: readonly Done[]): Measured {
  const site = makeSite({ latitudeDeg, longitudeDeg: 10 });
  const night = nightOfInvented(inventLooks({ altitude: 5, azimuth: 5, site }, [{}, { west: 40 }, { west: 40 }, ...deeds]), site);
  return { site: { site }, answer: answerAt(night, 'true')! } as Measured;
}

test.each([83, -83])('at %d° one frame after a knob is refused, in words', (latitude) => {
  expect(() => { requireLowEnough(measured(latitude, { raise: 10 })); }).toThrow(
    expect.objectContaining({ code: 'bad-option', message: expect.stringMatching(/^So near the zenith .*Measure anew with frames turned/) as string }),
  );
});

test('frames turned against each other are not, nor is one frame lower down', () => {
  expect(() => { requireLowEnough(measured(83)); }).not.toThrow();
  expect(() => { requireLowEnough(measured(83, { raise: 10 }, { west: 20 })); }).not.toThrow();
  expect(() => { requireLowEnough(measured(79, { raise: 10 })); }).not.toThrow();
});
