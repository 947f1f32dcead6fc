// Builds the command line and its threads into one file, dist/poleward.cjs, which the files in START then run: two hundred small modules
// take long to find and to compile. V8's code cache of it, made by commands that are run here, goes beside it.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { createHash } from 'node:crypto';
import { tmpdir } from 'node:os';
import { join, relative, sep } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';
import { TIERING } from './tiering.mjs';

const root = new URL('..', import.meta.url);
const source = fileURLToPath(new URL('src/', root));
const dist = new URL('dist/', root);
/** What is run as a program or as a thread. LibRaw's thread loads its module for itself. */
const START = ['cli/main', 'cli/watchThread', 'node/starsWorker'];

/** A module in the bundle finds what lies beside it where it was before. */
const places = {
  name: 'places',
  setup({ onLoad }) {
    onLoad({ filter: /\.ts$/ }, async ({ path }) => {
      const place = relative(source, path).split(sep).join('/').replace(/\.ts$/, '.js');
      const text = await readFile(path, 'utf8');
      return { loader: 'ts', contents: text.replaceAll('import.meta.url', `new URL(${JSON.stringify(place)}, DIST).href`) };
    });
  },
};

for (const name of readdirSync(dist)) if (/^poleward.*\.(cjs|cache)$/.test(name)) rmSync(new URL(name, dist));
const { outputFiles, metafile } = await build({
  stdin: {
    contents: `export default { ${START.map((name) => `'${name}': () => import('./${name}.js')`).join(', ')} };`,
    resolveDir: source,
  },
  bundle: true, write: false, metafile: true, minifyWhitespace: true, charset: 'ascii', legalComments: 'none', logLevel: 'warning',
  platform: 'node', format: 'cjs', target: 'node20.9', mainFields: ['module', 'main'], external: ['sharp', 'libraw-wasm'],
  plugins: [places],
});
// A function of what Node gives each file of its own, and of where dist is.
// esbuild leaves regular expressions as they are: with them escaped too, the file is ASCII, which V8 holds and scans byte by byte.
const ascii = outputFiles[0].text.replace(/[^\0-\x7f]/g, (unit) => `\\u${unit.charCodeAt(0).toString(16).padStart(4, '0')}`);
/** Modules of Node's that take some thousandths of a second to load and that few commands use: loaded at their first use. */
const lazy = ascii.replace(/=require\("(node:(?:zlib|child_process))"\)/g, '=lazily("$1")');
const lazily = 'const lazily=(name)=>new Proxy({},{get:(_,key)=>require(name)[key]});';
const code = `(function (exports, require, module, DIST) {${lazily}${lazy}\n})`;
const mark = createHash('sha256').update(code).digest('hex').slice(0, 12);
writeFileSync(new URL('poleward.cjs', dist), code);

const packages = new Set(Object.keys(metafile.inputs).flatMap((input) => /.*node_modules\/((?:@[^/]+\/)?[^/]+)/.exec(input)?.[1] ?? []));
writeFileSync(new URL('packages.json', dist), `${JSON.stringify([...packages].sort())}\n`);

/**
 * Code that starts what is called `name`. The cache's name tells of what and for what it was made; V8 looks for its own version and flags
 * in it, and does without one that does not suit.
 */
const starter = (name) => `${name === 'cli/main' ? '#!/usr/bin/env node\n' : ''}// Made by .config/buildCommandLine.mjs.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { fileURLToPath } from 'node:url';
import { setFlagsFromString } from 'node:v8';
import { Script } from 'node:vm';

if (process.versions.v8.startsWith('${TIERING.v8}')) setFlagsFromString('${TIERING.flag}');
const DIST = new URL('../', import.meta.url);
const file = fileURLToPath(new URL('poleward.cjs', DIST));
let cachedData;
try {
  cachedData = readFileSync(new URL(\`poleward-${mark}-\${process.version}-\${process.platform}-\${process.arch}.cache\`, DIST));
} catch {
  // Made elsewhere: V8 compiles.
}
const module = { exports: {} };
// It is ASCII.
const script = new Script(readFileSync(file, 'latin1'), { filename: file, cachedData });
script.runInThisContext()(module.exports, createRequire(import.meta.url), module, DIST);
await module.exports.default[${JSON.stringify(name)}]();
`;
for (const name of START) writeFileSync(new URL(`${name}.js`, dist), starter(name));

// The cache holds what was compiled: so the commands of a night are run first.
const scratch = mkdtempSync(join(tmpdir(), 'poleward-build-'));
try {
  execFileSync(process.execPath, [
    fileURLToPath(new URL('.config/warmCache.mjs', root)), fileURLToPath(dist), mark, scratch,
  ], {
    stdio: ['ignore', 'ignore', 'inherit'], cwd: scratch,
    // Nobody's rig file or nights.
    env: { ...process.env, HOME: scratch, XDG_CONFIG_HOME: scratch, XDG_STATE_HOME: scratch, APPDATA: scratch, LOCALAPPDATA: scratch },
  });
} finally {
  rmSync(scratch, { recursive: true });
}
