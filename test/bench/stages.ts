/** Times the stages of one cold process on the frames given, one thread. */
import { measureAxis } from '../../src/axis/measureAxis.js';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import { identifyFrames } from '../../src/tasks/recognise/identifyFrames.js';
import { makeReference, startRecognition } from '../../src/tasks/recognise/recognition.js';
import { type FrameStars, aboutFrame, inStoredPixels } from '../../src/tasks/recognise/frameStars.js';
import { givenValues } from '../../src/tasks/given/given.js';
import { readFrame } from '../../src/node/readFrame.js';
import { detectStars } from '../../src/stars/detectStars.js';

const files = process.argv.slice(2);
const spent = { read: 0, detect: 0, identify: 0, solve: 0 };
const memory = Buffer.allocUnsafeSlow(130_000_000);
const frames: FrameStars[] = [];
const clock = <T>(stage: keyof typeof spent, work: () => T): T => {
  const begin = performance.now();
  const result = work();
  spent[stage] += performance.now() - begin;
  return result;
};
for (const file of files) {
  const begin = performance.now();
  const frame = await readFrame(file, { memory });
  spent.read += performance.now() - begin;
  const { stars, background, noise, fwhm } = clock('detect', () => detectStars(frame.image));
  frames.push({ ...aboutFrame(frame), stars: inStoredPixels(stars, frame), background, noise, fwhm });
}
const reference = makeReference(null, givenValues({}, null), embeddedCatalogue());
const { outcomes } = clock('identify', () => identifyFrames(frames, reference, startRecognition()));
clock('solve', () => measureAxis(outcomes.flatMap((o) => (o.known ? [{
  identification: o.known.identification, sky: o.known.sky, width: o.known.frame.width, height: o.known.frame.height,
}] : [])), 'refracted'));
for (const [stage, milliseconds] of Object.entries(spent)) console.log(`  ${stage.padEnd(9)} ${milliseconds.toFixed(0).padStart(5)} ms`);
