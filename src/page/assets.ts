import type { Assets } from './messages.js';

/** Which of the two forms this page was built as. */
declare const FORM: Assets['form'];

const packed = (id: string): string => document.getElementById(id)!.textContent!;

/** The program's large parts: files beside the page, or packed in it. */
export function assetsHere(): Assets {
  if (FORM === 'single') return { form: FORM, stars: packed('stars'), libraw: packed('libraw'), raw: packed('raw') };
  const beside = (name: string): string => new URL(name, location.href).href;
  return { form: FORM, stars: beside('stars.bin'), libraw: beside('libraw.wasm'), raw: beside('raw.js') };
}

/** The worker. Throws where the browser lets none be. */
export function startWorker(): Worker {
  if (FORM === 'folder') return new Worker('worker.js');
  return new Worker(URL.createObjectURL(new Blob([packed('worker')], { type: 'text/javascript' })));
}
