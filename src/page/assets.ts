import type { AssetName, PageForm } from './messages.js';

/** Which of the two forms this page was built as. */
declare const FORM: PageForm;

/** A large part of the program that is packed in this page; the other form has them as files beside it. */
export function packedHere(name: AssetName | 'worker'): string {
  return document.getElementById(name)!.textContent!;
}

/** The worker. Throws where the browser lets none be. */
export function startWorker(): Worker {
  if (FORM === 'folder') return new Worker('worker.js');
  return new Worker(URL.createObjectURL(new Blob([packedHere('worker')], { type: 'text/javascript' })));
}
