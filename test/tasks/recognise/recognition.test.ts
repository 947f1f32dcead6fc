import { describe, expect, it } from 'vitest';
import { embeddedCatalogue } from '../../../src/node/embeddedCatalogue.js';
import { planNight, renderFrame } from '../../../src/simulate/night.js';
import { ordinaryNight } from '../../../src/simulate/nightPlan.js';
import { partsFrom } from '../../../src/identify/searchSky.js';
import type { SkyCatalogue } from '../../../src/sky/catalogueSky.js';
import { makeSite } from '../../../src/sky/site.js';
import { givenValues } from '../../../src/tasks/given/given.js';
import { frameOf } from '../../../src/tasks/measure/measure.js';
import { type FrameStars, clockCorrected, starsOfFrame } from '../../../src/tasks/recognise/frameStars.js';
import { identifyFrames } from '../../../src/tasks/recognise/identifyFrames.js';
import { makeReference, recognise, startRecognition } from '../../../src/tasks/recognise/recognition.js';
import { timedFrame } from '../../../src/tasks/recognise/timedFrame.js';

const NOTHING = givenValues({}, null);
const SITE = makeSite({ latitudeDeg: 46.5, longitudeDeg: 11.2 });
// Without the rest of the sky, which takes seconds to be searched in vain.
const catalogue = { ...embeddedCatalogue(), whole: undefined };
const plan = {
  ...ordinaryNight(SITE, new Date('2026-11-25T20:00:00Z')), width: 480, height: 360, focalLengthMillimetres: 130, rotationsDeg: [0, 40],
};
const night = planNight(plan, catalogue);
const [first, second] = [0, 1].map((n): FrameStars => {
  const { image, truth } = renderFrame(night, n);
  const found = starsOfFrame(frameOf(`frame ${n}`, image, truth.midUtc));
  // Few stars, since to search in vain takes long with many.
  return { ...found, stars: found.stars.slice(0, 25) };
}) as [FrameStars, FrameStars];
const starless: FrameStars = {
  ...second, file: 'starless', stars: second.stars.slice(0, 7).map((s, i) => ({ ...s, x: (i * 131) % 480, y: (i * 89) % 360 })),
};

describe('recognition', () => {
  const reference = makeReference(SITE, NOTHING, catalogue);
  it('is an unchanging value, and what is known already is not computed again', () => {
    const start = startRecognition();
    const one = recognise(reference, start, first);
    expect([...start.known.keys()]).toEqual([]);
    expect([...one.known.keys()]).toEqual([first]);
    expect(one.camera).toEqual({ lens: one.known.get(first)!.identification.lens, hemisphere: 1 });
    expect(recognise(reference, one, first)).toBe(one);
    const two = recognise(reference, one, second);
    expect([...one.known.keys()]).toEqual([first]);
    expect([...two.known.keys()]).toEqual([first, second]);
    expect(two.camera).toBe(one.camera);
  });
  it('remembers what can\'t be recognised, and searches it once more when a camera is known', () => {
    const one = recognise(reference, startRecognition(), starless);
    expect(one).toMatchObject({ camera: null, refusal: null });
    expect([...one.searched]).toEqual([[starless, null]]);
    expect(recognise(reference, one, starless)).toBe(one);
    const known = recognise(reference, one, first);
    const again = recognise(reference, known, starless);
    expect([...again.searched]).toEqual([[starless, known.camera!.lens]]);
    expect(recognise(reference, again, starless)).toBe(again);
  });
  it('of the other hemisphere\'s pole is refused, for all frames alike, and says what to put right', () => {
    const south = makeReference(makeSite({ latitudeDeg: -46.5, longitudeDeg: 11.2 }), NOTHING, catalogue);
    const one = recognise(south, startRecognition(), first);
    expect(one.refusal).toMatchObject({ code: 'bad-option', remedies: ['give-latitude'] });
    expect(one.refusal!.message).toMatch(/shows the stars of the north celestial pole, but the latitude given is south/);
    expect(recognise(south, one, second)).toBe(one);
    expect(() => identifyFrames([first, second], south, startRecognition())).toThrow(one.refusal!.message);
  });
  it('searches the whole sky for nobody whose lens another frame shows', () => {
    // A sky without stars: what is asked of it is counted.
    let asked = 0;
    const nothing = { count: 0, numbers: new Int32Array(0), directions: new Float64Array(0), magnitudes: new Float32Array(0) };
    const whole = (): SkyCatalogue => ({ near: catalogue, numbers: 0, collect: () => (asked++, nothing), sigma: () => 1 });
    const askedFor = (frames: readonly FrameStars[]): number => {
      asked = 0;
      identifyFrames(frames, makeReference(SITE, NOTHING, { ...catalogue, whole }), startRecognition());
      return asked;
    };
    // With the lens that is known each part of the sky is searched once; without one there is more to try.
    const parts = partsFrom([0, 0, 1]).length;
    expect(askedFor([starless])).toBeGreaterThan(parts);
    expect(askedFor([starless, first])).toBe(parts);
    expect(askedFor([first, second])).toBe(0);
  });
  it('of many frames gives each in its order, those without stars, time or a sky that is known with their trouble', () => {
    const timeless = { ...second, file: 'timeless', metadata: { ...second.metadata, midExposure: null } };
    const empty = { ...second, file: 'empty', stars: [] };
    const { outcomes, recognition } = identifyFrames([starless, first, timeless, empty, second], reference, startRecognition());
    expect(outcomes.map(({ known, trouble }) => known?.frame.file ?? trouble?.code)).toEqual([
      'not-identified', 'frame 0', 'no-time', 'no-stars', 'frame 1',
    ]);
    expect(recognition.camera?.lens).toEqual(recognition.known.get(first)!.identification.lens);
  });
});

describe('a clock that the person knows to be ahead', () => {
  const doubtful: FrameStars = {
    ...first, metadata: { ...first.metadata, clockDoubts: ['Two clocks differ.'], utcOffsetMinutes: { value: 60, from: 'x' } },
  };
  const timed = (frame: FrameStars): ReturnType<typeof timedFrame> => {
    const { outcomes: [outcome] } = identifyFrames([frame], makeReference(null, NOTHING, catalogue), startRecognition());
    return timedFrame(outcome!.known!, null);
  };
  it('is corrected with its source named, and a file\'s own contradictions no longer count', () => {
    const corrected = clockCorrected(doubtful, { clockAheadSeconds: { value: 90, from: 'person' } });
    expect(corrected.metadata.midExposure).toEqual({
      value: new Date(first.metadata.midExposure!.value.getTime() - 90_000), from: 'given, clock 90 s ahead (person)',
    });
    expect(timed(corrected)).not.toHaveProperty('doubts');
    expect(timed(corrected)).not.toHaveProperty('utcOffsetMinutes');
    expect(timed(doubtful)).toMatchObject({ doubts: ['Two clocks differ.'], utcOffsetMinutes: 60 });
  });
  it('by zero leaves the frame as it is', () => {
    expect(clockCorrected(doubtful, { clockAheadSeconds: null })).toBe(doubtful);
    expect(clockCorrected(doubtful, { clockAheadSeconds: { value: 0, from: 'person' } })).toBe(doubtful);
  });
});
