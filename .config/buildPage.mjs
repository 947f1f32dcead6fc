// Builds the page (src/page) into dist/page: `folder`, for any web server, and `poleward.html`, one file with all of it inside.
import { createHash } from 'node:crypto';
import { mkdirSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import { build } from 'esbuild';
import { librawForPages } from './librawForPages.mjs';
import { noticesOf } from './notices.mjs';

const root = new URL('..', import.meta.url);
const text = (path) => readFileSync(new URL(path, root), 'utf8');
const { version } = JSON.parse(text('package.json'));
const out = new URL('dist/page/', root);
rmSync(out, { recursive: true, force: true });
mkdirSync(new URL('folder/', out), { recursive: true });

/** LibRaw's module makes an address of its own place, and asks nothing of it where it is given its code. */
const NOWHERE = JSON.stringify('https://page.invalid/');
const LIBRAW = 'node_modules/libraw-wasm/dist/libraw.wasm';
const notRead = fileURLToPath(new URL('src/page/frame/notRead.ts', root));

/** Packages that are part of the page: their licences are listed. */
const libraries = new Set();

async function bundle(entry, form, more = {}) {
  const { outputFiles, metafile } = await build({
    entryPoints: [fileURLToPath(new URL(`src/page/${entry}`, root))], bundle: true, write: false, metafile: true, minify: true,
    platform: 'browser', format: 'iife', target: ['chrome105', 'firefox113', 'safari16.4'], charset: 'ascii', logLevel: 'warning',
    define: {
      'import.meta.url': NOWHERE, FORM: JSON.stringify(form), VERSION: JSON.stringify(version), ...more,
    },
    // TIFF's rarer compressions: not read, and large.
    alias: { lerc: notRead, 'zstddec/stream': notRead },
    // Node's modules and import.meta are asked for only where there is node.
    external: ['module', 'fs', 'worker_threads', 'node:*'],
    plugins: [librawForPages],
  });
  for (const input of Object.keys(metafile.inputs)) {
    const name = /.*node_modules\/((?:@[^/]+\/)?[^/]+)/.exec(input)?.[1];
    if (name) libraries.add(name);
  }
  // The page is a front of its own: nothing of the others' places gets in.
  const foreign = Object.keys(metafile.inputs).filter((input) => /src\/(node|cli)\//.test(input));
  if (foreign.length > 0) throw new Error(`the page would hold ${foreign.join(', ')}`);
  return outputFiles[0].text;
}

const sha = (content) => `'sha256-${createHash('sha256').update(content).digest('base64')}'`;
const css = `${text('src/panel/page/parts.css')}${text('src/page/page.css')}`.trim();
const body = text('src/page/page.html');

/** The whole page. Style stands in its head, so that the first thing painted is dark. */
function page(policy, head, tail) {
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="color-scheme" content="dark">
<style>${css}</style>
<meta name="theme-color" content="#000000">
<meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover">
<meta name="referrer" content="no-referrer">
<title>Poleward</title>
${head}</head>
${body.replace('</body>', () => `${tail}</body>`)}`;
}

const always = `default-src 'none'; style-src ${sha(css)}; img-src 'self' blob: data:; base-uri 'none'; form-action 'none'`;

/* What is in it is under licences of its own, which go with it. Once all scripts are built, it is known which packages that is. */
const licences = () => [...['LICENSE', 'src/sky/catalogue/LICENSES.md', ...readdirSync(new URL('src/node/licences/', root)).sort()
  .map((name) => `src/node/licences/${name}`)].map((path) => `${path}\n\n${text(path)}`), noticesOf(libraries)].join('\n\n');

/* For a web server. */
const files = new Map();
const write = (name, content) => {
  files.set(name, content);
  writeFileSync(new URL(`folder/${name}`, out), content);
};
write('main.js', await bundle('main.ts', 'folder'));
write('worker.js', await bundle('work/worker.ts', 'folder'));
write('raw.js', await bundle('frame/rawWorker.ts', 'folder'));
write('libraw.wasm', readFileSync(new URL(LIBRAW, root)));
for (const name of ['stars.bin', 'sky.bin']) write(name, readFileSync(new URL(`src/sky/catalogue/${name}`, root)));
write('index.html', page(
  `${always}; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self'; connect-src 'self'; manifest-src 'self'`,
  '<link rel="icon" href="icon.svg">\n<link rel="manifest" href="manifest.webmanifest">\n<script src="main.js" defer></script>\n', '',
));
write('licences.txt', licences());
write('icon.svg', text('src/page/icon.svg'));
write('manifest.webmanifest', text('src/page/manifest.json'));
const stamp = createHash('sha256').update([...files].map(([name, content]) => `${name} ${sha(content)}`).join('\n')).digest('hex');
const kept = ['./', ...[...files.keys()].filter((name) => name !== 'index.html')];
writeFileSync(
  new URL('folder/service.js', out),
  await bundle('offline/service.ts', 'folder', { FILES: JSON.stringify(kept), STAMP: JSON.stringify(stamp.slice(0, 16)) }),
);

/*
 * One file. What is no script of the page's own (its type says so) is never run as one. It comes after the script, so that the page is
 * there first, and in pieces, between which the browser can do something else.
 */
const PIECE = 2 ** 17;
const packed = (name, content) => Array.from(
  { length: Math.ceil(content.length / PIECE) },
  (_, i) => `<script type="text/plain" data-part="${name}">${content.slice(i * PIECE, (i + 1) * PIECE)}</script>\n`,
).join('');
const asBase64 = (path) => gzipSync(readFileSync(new URL(path, root)), { level: 9 }).toString('base64');
const main = (await bundle('main.ts', 'single')).replaceAll('</script', '<\\/script').trim();
const worker = (await bundle('work/worker.ts', 'single')).replaceAll('</script', '<\\/script').trim();
const raw = (await bundle('frame/rawWorker.ts', 'single')).replaceAll('</script', '<\\/script').trim();
writeFileSync(new URL('poleward.html', out), page(
  `${always}; script-src ${sha(main)} blob: 'wasm-unsafe-eval'; worker-src blob:; connect-src data: blob:`,
  '<link rel="icon" href="data:,">\n',
  `<script type="text/plain" data-part="worker">${worker}</script>
<script>${main}</script>
${packed('stars', asBase64('src/sky/catalogue/stars.bin'))}<script type="text/plain" data-part="raw">${raw}</script>
${packed('libraw', asBase64(LIBRAW))}${packed('sky', asBase64('src/sky/catalogue/sky.bin'))}\
<script type="text/plain" data-part="licences">${licences().replaceAll('</script', '<\\/script')}</script>
`,
));

writeFileSync(new URL('libraries.json', out), `${JSON.stringify([...libraries].sort())}\n`);
