import { describe, expect, test } from 'vitest';
import { DEGREE } from '../../../src/geometry/angle.js';
import { type Rotation, rotationAbout, compose } from '../../../src/geometry/rotation.js';
import type { Night } from '../../../src/night/night.js';
import { clockStands, sameMoment } from '../../../src/tasks/recognise/sameMoment.js';
import type { KnownFrame } from '../../../src/tasks/recognise/recognition.js';

const POSE = compose(rotationAbout([0, 0, 1], 40 * DEGREE), rotationAbout([1, 0, 0], 50 * DEGREE));
const NIGHT = {
  looks: [
    { file: 'night/a.fits', utc: '2026-11-25T20:00:02.000Z', pose: POSE },
    { file: 'night/b.fits', utc: '2026-11-25T20:00:47.000Z', pose: turned(35) },
  ],
} as unknown as Night;

/** The pose of a camera that was turned by some degrees since. */
function turned(degrees: number): Rotation {
  return compose(rotationAbout([0.6, 0, 0.8], degrees * DEGREE), POSE);
}

/** As much of a frame as is looked at: `seconds` after 20:00:00. */
function frameOf(
  { file = 'other/c.fits', seconds = 2, exposure = 4 as number | null, degrees = 0, timeGiven = false } = {},
): KnownFrame {
  return {
    frame: {
      file, metadata: { exposureSeconds: exposure === null ? null : { value: exposure, from: 'FITS EXPTIME' } },
      ...(timeGiven ? { timeGiven: { byFile: false, own: null } } : {}),
    },
    sky: { time: new Date(Date.parse('2026-11-25T20:00:00Z') + seconds * 1000) }, identification: { pose: turned(degrees) },
  } as unknown as KnownFrame;
}

describe('a frame of the moment of a look in the night', () => {
  test.each([
    ['shows the camera elsewhere: it is of another night', { degrees: 3 }, true],
    ['shows the camera elsewhere by a fraction of a degree, with the shutter open for both', { degrees: 0.1 }, true],
    ['by a clock that shows whole seconds, with the shutter open for both', { degrees: 0.1, seconds: 2.9 }, true],
    ['shows the camera far elsewhere, its exposure unknown', { degrees: 3, exposure: null }, true],
    ['of a burst of short exposures, while a knob was turned', { degrees: 0.1, exposure: 0.2 }, false],
    ['shows the camera where it was, as a copy in another format does', { degrees: 0.01 }, false],
    ['has no time of its own: a person may give one for several', { degrees: 3, timeGiven: true }, false],
    ['is the next exposure, after the mount was turned', { degrees: 35, seconds: 6 }, false],
    ['is the next exposure of one second', { degrees: 3, seconds: 3, exposure: 1 }, false],
  ])('%s', (_, changes, refused) => {
    expect(sameMoment(NIGHT, frameOf(changes))?.code).toBe(refused ? 'same-moment' : undefined);
  });

  test('names both frames, the moment and how far the camera was turned, and says what to do', () => {
    expect(sameMoment(NIGHT, frameOf({ degrees: 3 }))).toMatchObject({
      file: 'other/c.fits', remedies: ['new-session'],
      message: 'other/c.fits and a.fits were both taken at 20:00:02 UTC by their times, yet the camera is turned by 3.00° between them. '
        + 'One camera can\'t take both: if the time is wrong, correct it; if they are of two nights or practice nights, begin a new night.',
    });
    expect(sameMoment(NIGHT, frameOf({ file: 'other/a.fits', degrees: 3 }))!.message)
      .toContain('other/a.fits and another frame of that name in this night were both taken');
  });
});

test('a clock stands where all frames have one time: then the times tell nothing apart', () => {
  expect(clockStands([frameOf(), frameOf({ degrees: 30 })])).toBe(true);
  expect(clockStands([frameOf(), frameOf(), frameOf({ seconds: 47 })])).toBe(false);
  expect(clockStands([frameOf()])).toBe(false);
});
