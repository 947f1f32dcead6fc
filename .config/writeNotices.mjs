// Writes the notices of the packages that are built into the command line's one file and into the page.
import { readFileSync, writeFileSync } from 'node:fs';
import { noticesOf } from './notices.mjs';

const root = new URL('..', import.meta.url);
const names = (path) => JSON.parse(readFileSync(new URL(path, root), 'utf8'));
const built = [...names('dist/packages.json'), ...names('dist/page/libraries.json')];
const head = 'The packages that are built into poleward.cjs and the page.\n\n';
writeFileSync(new URL('dist/node/licences/NOTICES.txt', root), `${head}${noticesOf(built)}`);
