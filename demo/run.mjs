// Measures the frames of this folder and shows the truth beside the answer: `npm run demo`.
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const folder = fileURLToPath(new URL('.', import.meta.url));
const main = fileURLToPath(new URL('../dist/cli/main.js', import.meta.url));
const truth = JSON.parse(readFileSync(new URL('truth.json', import.meta.url), 'utf8'));
const frames = truth.frames.map(({ file }) => file);

/** Runs `poleward measure` on the frames; the site comes from their headers. */
function measure(...options) {
  const run = spawnSync(process.execPath, [main, 'measure', ...frames, '--no-session', ...options], {
    cwd: folder, encoding: 'utf8', stdio: ['ignore', 'pipe', 'inherit'],
  });
  if (run.status !== 0) process.exit(run.status ?? 1);
  return run.stdout;
}

console.log(`$ poleward measure ${frames.join(' ')}\n`);
console.log(measure());

const { axis, frames: measured } = JSON.parse(measure('--json'));
const rows = [
  ['', 'truth', 'measured', 'off by'],
  ...['altitude', 'azimuth', 'separation'].map((name) => {
    const right = truth.axis.fromRefractedPole[`${name}Arcmin`];
    const found = axis.fromRefractedPole[`${name}Arcmin`];
    return [name, minutes(right), minutes(found), `${((found - right) * 60).toFixed(2)}″`];
  }),
  ...measured.map(({ file, rotationCentre }, i) => {
    const centre = truth.frames[i].rotationCentre;
    const off = Math.hypot(rotationCentre.x - centre.x, rotationCentre.y - centre.y);
    return [`centre, ${file}`, pixel(centre), pixel(rotationCentre), `${off.toFixed(3)} px`];
  }),
];
console.log('The frames are simulated, so the truth is known (axis from the refracted pole):\n');
for (const [name, ...columns] of rows) console.log(name.padEnd(21) + columns.map((text) => text.padStart(13)).join(''));

function minutes(value) {
  return `${value.toFixed(3)}′`;
}

function pixel({ x, y }) {
  return `${x.toFixed(1)}, ${y.toFixed(1)}`;
}
