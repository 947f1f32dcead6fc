import type { DrawnKnob } from '../panelMessage.js';
import { made } from './element.js';

/** One knob: dial, number, direction. */
export function knobFace({ name, off, offSaid, sure, way, arrow, dial, middle }: DrawnKnob): HTMLElement {
  const section = made('section', 'knob');
  section.id = name;
  section.ariaLabel = name;
  const face = made('div', 'dial');
  // As in an HTML page: the drawing names no namespace.
  const drawing = new DOMParser().parseFromString(dial, 'text/html').body.firstElementChild!;
  const words = made('div', middle.some((line) => line.length > 4) ? 'middle long' : 'middle');
  words.ariaHidden = 'true';
  words.append(...middle.map((line) => made('span', '', line)));
  face.append(document.importNode(drawing, true), words);
  const number = made('p', 'number');
  const seen = made('span', '', off);
  seen.ariaHidden = 'true';
  number.append(seen, made('span', 'unseen', offSaid));
  const going = made('p', 'way');
  const sign = made('span', 'arrow', arrow === '' ? '' : `${arrow} `);
  sign.ariaHidden = 'true';
  going.append(sign, way);
  section.append(face, made('h2', '', name), number, going, made('p', 'sure', sure));
  return section;
}
