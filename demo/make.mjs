// Makes the frames and truth.json of this folder: `npm run build && node demo/make.mjs`.
import { execFileSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

const main = fileURLToPath(new URL('../dist/cli/main.js', import.meta.url));
execFileSync(process.execPath, [
  main, 'simulate', '--out', fileURLToPath(new URL('.', import.meta.url)), '--overwrite', '--seed', 'demo',
  '--latitude', '47.31', '--longitude', '8.55', '--elevation', '640', '--time', '2026-10-09T19:42:10Z',
  // A guide scope of 50 mm aperture and a camera with its pixels binned.
  '--focal-length', '200', '--aperture', '50', '--pixel-size', '7.4', '--size', '640x480', '--exposure', '3', '--interval', '52',
  // What the person does not know.
  '--altitude-error=-13.6', '--azimuth-error', '24.3', '--rotations=0,-31,-64', '--tracking', '--roll=-77', '--pointing', '0.24',
  '--fwhm', '2.3', '--sky-brightness', '19.8',
], { stdio: 'inherit' });
