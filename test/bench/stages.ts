/** Times the stages of one cold process on the frames given, one thread. */
import { measureAxis } from '../../src/axis/measureAxis.js';
import { embeddedCatalogue } from '../../src/cli/embeddedCatalogue.js';
import { identifyFrames } from '../../src/cli/identifyFrames.js';
import { startRecognition } from '../../src/cli/recognition.js';
import type { FrameStars } from '../../src/cli/starsOfFrame.js';
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
  frames.push({
    file, width: frame.image.width, height: frame.image.height, firstRowBottom: frame.firstRowBottom, metadata: frame.metadata,
    stars, background, noise, fwhm,
  });
}
const outcomes = clock('identify', () => identifyFrames(frames, startRecognition(null, { aim: 'refracted' }, embeddedCatalogue())));
clock('solve', () => measureAxis(outcomes.flatMap((o) => (o.known ? [{
  identification: o.known.identification, sky: o.known.sky, width: o.known.frame.width, height: o.known.frame.height,
}] : [])), 'refracted'));
for (const [stage, milliseconds] of Object.entries(spent)) console.log(`  ${stage.padEnd(9)} ${milliseconds.toFixed(0).padStart(5)} ms`);
