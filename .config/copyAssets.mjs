// Puts what tsc does not copy beside the compiled code.
import { cpSync } from 'node:fs';

const root = new URL('..', import.meta.url);
const asset = 'sky/catalogue/stars.bin';
cpSync(new URL(`src/${asset}`, root), new URL(`dist/${asset}`, root));
