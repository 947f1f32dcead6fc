import type { AssetName, PageForm } from './messages.js';

/** Which of the two forms this page was built as. */
declare const FORM: PageForm;

/** A large part of the program that is packed in this page, once all of it is here; the other form has them as files beside it. */
export async function packedHere(name: AssetName): Promise<string> {
  if (document.readyState === 'loading') {
    await new Promise((resolve) => { document.addEventListener('DOMContentLoaded', resolve, { once: true }); });
  }
  return packedPart(name);
}

function packedPart(name: AssetName): string {
  return [...document.querySelectorAll(`script[data-part="${name}"]`)].map((piece) => piece.textContent).join('');
}

/** The worker. Throws where the browser allows none. */
export function startWorker(): Worker {
  if (FORM === 'folder') return new Worker('worker.js');
  return new Worker(URL.createObjectURL(new Blob([packedPart('worker')], { type: 'text/javascript' })));
}
