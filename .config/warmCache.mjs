// Runs the commands of a night in one process and writes V8's code cache of dist/poleward.cjs: see buildCommandLine.mjs, which starts it.
import { readFileSync, renameSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { setFlagsFromString } from 'node:v8';
import { Script } from 'node:vm';
import { TIERING } from './tiering.mjs';

// A cache holds for the flags it was made with.
if (process.versions.v8.startsWith(TIERING.v8)) setFlagsFromString(TIERING.flag);
const [dist, mark, scratch] = process.argv.slice(2);
const file = join(dist, 'poleward.cjs');
const script = new Script(readFileSync(file, 'latin1'), { filename: file });
const frames = join(scratch, 'frames');
const session = join(scratch, 'session.json');
const site = ['--latitude', '46.5', '--longitude', '11.2'];
const sky = ['--time', '2026-11-25T20:00:00Z', '--size', '1200x800', '--rotations', '0,12,24,30'];
const frame = (number) => join(frames, `frame-${number}.fits`);
const COMMANDS = [
  ['simulate', '--out', frames, ...site, ...sky],
  ['measure', frame(1), frame(2), frame(3), ...site, '--session', session],
  ['recheck', frame(4), ...site, '--session', session],
];
for (const words of COMMANDS) {
  process.argv = [process.execPath, join(dist, 'cli', 'main.js'), ...words];
  const module = { exports: {} };
  script.runInThisContext()(module.exports, createRequire(file), module, pathToFileURL(join(dist, '/')));
  await (await module.exports.default['cli/main']()).done;
  if (process.exitCode !== 0) throw new Error(`poleward ${words.join(' ')} ended with ${process.exitCode}`);
}
const cache = join(dist, `poleward-${mark}-${process.version}-${process.platform}-${process.arch}.cache`);
writeFileSync(`${cache}.part`, script.createCachedData());
renameSync(`${cache}.part`, cache);
