import { byId, made } from '../../panel/page/element.js';
import type { LogShown } from '../messages.js';

/** What can be done with a kept night. */
export interface NightDeeds {
  open(name: string): void;
  forget(name: string): void;
}

/** The night as it went, and the nights that are kept. */
export function showLog(log: LogShown, lasting: boolean, deeds: NightDeeds): void {
  byId('standing').textContent = log.standing;
  byId('place').textContent = log.place;
  byId('since').textContent = log.since;
  byId('looks').replaceChildren(...log.looks.map((text) => made('li', '', text)));
  byId('chart').replaceChildren(...(log.chart === null ? [] : [drawing(log.chart)]));
  byId('lasting').textContent = lasting ? 'Kept in this browser, on this device only.'
    : 'This browser keeps nothing here: save the session before you close the page.';
  byId('nights').replaceChildren(...log.nights.map(({ name, begun, looks, open }) => {
    const item = made('li', '');
    const when = `${begun.slice(0, 10)} ${begun.slice(11, 16)} UTC`;
    item.append(made('span', '', `${when}, ${looks} look${looks === 1 ? '' : 's'}${open ? ', open' : ''}`));
    if (!open) item.append(deed('open', () => deeds.open(name)));
    item.append(twice('delete', () => deeds.forget(name)));
    return item;
  }));
}

/** One of the program's drawings as an element. */
export function drawing(svg: string): Node {
  return document.importNode(new DOMParser().parseFromString(svg, 'text/html').body.firstElementChild!, true);
}

function deed(words: string, done: () => void): HTMLButtonElement {
  const button = made('button', '', words) as HTMLButtonElement;
  button.type = 'button';
  button.addEventListener('click', done);
  return button;
}

/** A button that must be pressed twice, for what can't be undone. */
function twice(words: string, done: () => void): HTMLButtonElement {
  const button = deed(words, () => {
    if (button.dataset['asked']) done();
    button.dataset['asked'] = 'yes';
    button.textContent = `really ${words}`;
  });
  return button;
}
