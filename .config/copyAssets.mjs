// Puts what tsc does not copy beside the compiled code.
import { cpSync } from 'node:fs';

const root = new URL('..', import.meta.url);
for (const asset of ['sky/catalogue/stars.bin', 'sky/catalogue/sky.bin', 'panel/page/panel.html', 'panel/page/panel.css']) {
  cpSync(new URL(`src/${asset}`, root), new URL(`dist/${asset}`, root));
}
