// Puts what tsc does not copy beside the compiled code.
import { cpSync } from 'node:fs';

const root = new URL('..', import.meta.url);
for (const asset of ['sky/catalogue/stars.bin', 'panel/page/panel.html', 'panel/page/panel.css', 'sky/catalogue/LICENSES.md', 'node/licences']) {
  cpSync(new URL(`src/${asset}`, root), new URL(`dist/${asset}`, root), { recursive: true });
}
