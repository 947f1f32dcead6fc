import type { PanelMessage } from '../panelMessage.js';
import { makeAwake } from './awake.js';
import { makeBrightness } from './brightness.js';
import { byId } from './element.js';
import { listen } from './feed.js';
import { show, showAge, showLink } from './show.js';
import { makeSound } from './sound.js';
import { notesFor } from './tone.js';

const button = (id: string): HTMLButtonElement => byId(id) as HTMLButtonElement;
makeBrightness(document.documentElement, button('darker'), button('lighter'));
makeAwake(button('awake'), (sentence) => { byId('screen').textContent = sentence; });

const sound = makeSound();
let last: PanelMessage | null = null;
/** The watch's clock less this device's, ms. */
let ahead = 0;

function play(): void {
  if (last) sound.play(notesFor(last.off?.arcmin ?? null, last.off?.limitArcmin ?? 1, last.trouble !== null));
}

button('sound').addEventListener('click', () => {
  button('sound').ariaPressed = `${sound.toggle()}`;
  play();
});

const feed = listen({
  view(message) {
    const isNew = last?.frame?.at !== message.frame?.at;
    last = message;
    show(message);
    showAge(message.frame, message.now);
    if (isNew) play();
  },
  clock(now) {
    ahead = now - Date.now();
  },
  link: showLink,
});

setInterval(() => {
  feed.tick();
  showAge(last?.frame ?? null, Date.now() + ahead);
}, 1000);
document.addEventListener('visibilitychange', () => {
  if (document.visibilityState === 'visible') feed.wake();
});
