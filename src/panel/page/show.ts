import type { PanelMessage } from '../panelMessage.js';
import { byId, made } from './element.js';
import type { Link } from './feed.js';
import { knobFace } from './knobFace.js';

/** Text and drawings of the page. All text is inserted as text, never as markup. */
export function show(message: PanelMessage): void {
  const knobs = byId('knobs');
  knobs.replaceChildren(...message.knobs.map(knobFace));
  byId('off').textContent = message.off
    ? `${message.off.text}: ${message.off.within ? 'within' : 'over'} your limit of ${message.off.limitArcmin}′` : '';
  byId('next').textContent = message.next;
  const trouble = byId('trouble');
  trouble.hidden = message.trouble === null;
  trouble.querySelector('h2')!.textContent = message.trouble?.headline ?? '';
  trouble.querySelector('p')!.textContent = message.trouble?.detail ?? '';
  const cautions = byId('cautions');
  cautions.hidden = message.cautions.length === 0;
  cautions.querySelector('ul')!.replaceChildren(...message.cautions.map((text) => made('li', '', text)));
}

/** "12 s ago: a knob was turned" */
export function showAge(frame: PanelMessage['frame'], now: number): void {
  byId('age').textContent = frame ? `${ago(now - frame.at)} ago: ${frame.taken}` : 'no frame yet';
}

const LINK_WORDS: Readonly<Record<Exclude<Link, 'fresh'>, string>> = {
  lost: 'STALE: no word from the watch for',
  refused: 'STALE: this address is no longer valid. Use the one that the watch shows.',
  full: 'STALE: too many panels are open. Close one.',
};

/** Marks the page as outdated, or removes that mark. */
export function showLink(link: Link, silentMs: number): void {
  const words = link === 'fresh' ? '' : link === 'lost' ? `${LINK_WORDS.lost} ${ago(silentMs)}. Trying again.` : LINK_WORDS[link];
  const place = byId('link');
  if (place.textContent !== words) place.textContent = words;
  document.body.classList.toggle('stale', link !== 'fresh');
}

/** "12 s", "5 min" */
export function ago(ms: number): string {
  const seconds = Math.max(0, Math.round(ms / 1000));
  return seconds < 120 ? `${seconds} s` : seconds < 7200 ? `${Math.round(seconds / 60)} min` : `${Math.round(seconds / 3600)} h`;
}
