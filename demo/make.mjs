// Makes the frames and truth.json of this folder: `npm run build && node demo/make.mjs`.
import { fileURLToPath } from 'node:url';
import { simulateFrames } from '../dist/cli/simulateFrames.js';

simulateFrames({
  out: fileURLToPath(new URL('.', import.meta.url)),
  latitude: 47.31,
  longitude: 8.55,
  elevation: 640,
  time: new Date('2026-10-09T19:42:10Z'),
  // A guide scope of 50 mm aperture and a camera with its pixels binned.
  focalLength: 200,
  aperture: 50,
  pixelSize: 7.4,
  size: { width: 640, height: 480 },
  exposure: 3,
  interval: 52,
  // What the person does not know.
  altitudeError: -13.6,
  azimuthError: 24.3,
  rotations: [0, -31, -64],
  tracking: true,
  roll: -77,
  pointing: 0.24,
  fwhm: 2.3,
  skyBrightness: 19.8,
  seed: 'demo',
  overwrite: true,
});
