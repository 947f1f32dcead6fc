import { join } from 'node:path';
import { ARCMINUTE } from '../geometry/angle.js';
import { moveWords } from '../night/motions.js';
import { type SimulateRequest, type Simulation, simulationText } from '../tasks/simulate/simulation.js';
import { wrap } from '../tasks/words/numberWords.js';

/** Options that the next frame needs no more; the others hold for it too. */
const ALONE = ['--overwrite', '--night'];

/**
 * What `simulate` made in a folder, and what to do with it: the commands that measure it and look again after a knob's turn.
 *
 * @param words the options that were given, as they were typed
 */
export function madeText(made: Simulation, request: SimulateRequest, folder: string, words: readonly string[]): string {
  const files = made.frames.map(({ file }) => join(folder, file));
  const air = made.site.airGiven
    ? ['--pressure', made.site.pressureHectopascal, '--temperature', made.site.temperatureCelsius].map(String) : [];
  const command = [...(made.target ? ['verify', made.guided ? '--guided' : '--unguided'] : ['measure']), ...files, ...air];
  const frames = made.frames.length === 1 ? '1 frame' : `${made.frames.length} frames`;
  return [
    wrap(`${frames} in ${folder}, the truth in ${join(folder, 'truth.json')}`),
    simulationText(made),
    ...(made.frames.length > 1 ? ['', made.target ? 'verify them:' : 'measure them:', commandLine(command)] : []),
    ...afterATurn(made, request, folder, words),
  ].join('\n');
}

/** One frame more of the same night with the knob turned that comes first; nothing where that can't be simulated. */
function afterATurn(made: Simulation, request: SimulateRequest, folder: string, words: readonly string[]): string[] {
  const { azimuthErrorArcmin, altitudeErrorArcmin, rotationsDeg, intervalSeconds } = request;
  const knob = azimuthErrorArcmin !== 0 ? 'azimuth' : altitudeErrorArcmin !== 0 ? 'altitude' : null;
  // A camera that looks far from the axis would be aimed again, not carried along by the knob.
  if (made.target || request.toward || made.frames.length < 2 || knob === null) return [];
  const turned = `${folder.replace(/[/\\]+$/, '')}-turned`;
  const last = Date.parse(made.frames.at(-1)!.startUtc);
  const time = new Date(last + 1000 * Math.max(60, intervalSeconds)).toISOString().slice(0, 19);
  const error = knob === 'azimuth' ? azimuthErrorArcmin : altitudeErrorArcmin;
  const own = ['--out', turned, `--${knob}-error`, '0', '--rotations', `${rotationsDeg.at(-1)!}`, '--time', time];
  return [
    '', wrap(`then, as if the ${knob} knob had been turned until the axis moved ${moveWords(knob, -error * ARCMINUTE, 0.05 * ARCMINUTE)}:`),
    commandLine(['simulate', ...own, ...without(words, own)]),
    commandLine(['recheck', join(turned, 'frame-1.fits'), '--session', join(folder, 'poleward-session.jsonl')]),
  ];
}

/** The words of a command without some of its options and their values. */
function without(words: readonly string[], options: readonly string[]): string[] {
  return words.filter((word, i) => !options.includes(word.replace(/=.*/, '')) && !options.includes(words[i - 1] ?? '')
    && !ALONE.includes(word));
}

function commandLine(words: readonly string[]): string {
  return `  poleward ${words.map(quoted).join(' ')}`;
}

/** A word as a shell takes it. */
function quoted(word: string): string {
  return /^[\w@%+=:,./\\-]+$/.test(word) ? word : `"${word}"`;
}
