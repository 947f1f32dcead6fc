// Puts what tsc does not copy beside the compiled code.
import { cpSync } from 'node:fs';

const root = new URL('..', import.meta.url);
const ASSETS = [
  'sky/catalogue/stars.bin', 'sky/catalogue/sky.bin', 'sky/catalogue/LICENSES.md', 'node/licences',
  'panel/page/panel.html', 'panel/page/panel.css', 'panel/page/parts.css',
];
for (const asset of ASSETS) {
  cpSync(new URL(`src/${asset}`, root), new URL(`dist/${asset}`, root), { recursive: true });
}
