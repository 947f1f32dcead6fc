import type { DialInk } from './knobDial.js';

/** Colours of a picture, as SVG takes them. */
export interface Inks {
  readonly ground: string;
  readonly text: string;
  readonly faint: string;
  /** Rings around recognised stars. */
  readonly seen: string;
  readonly axis: string;
  readonly pole: string;
  readonly star: string;
  readonly dial: DialInk;
}

/**
 * On a dark background, distinct for people with any colour vision: orange, sky blue and purple of Okabe & Ito (2008, "Color Universal
 * Design"). Shapes differ too.
 */
export const DARK_INKS: Inks = {
  ground: '#12100e', text: '#efe6d8', faint: '#8d857a', seen: '#b9c7d6', axis: '#e69f00', pole: '#56b4e9', star: '#cc79a7',
  dial: { turn: '#ffd9a8', line: '#c9c1b4', faint: '#7d766c' },
};

/** Red alone, for eyes adapted to the dark: shapes and brightness make the difference. */
export const RED_INKS: Inks = {
  ground: '#000000', text: '#c8281e', faint: '#6e1610', seen: '#8c1d15', axis: '#ff3a2a', pole: '#e0301f', star: '#ff5a48',
  dial: { turn: '#ff3a2a', line: '#a0221a', faint: '#6e1610' },
};

/** The colours of the page around, on the screen and on paper. */
export const PAGE_INKS: Inks = {
  ground: 'var(--ground)', text: 'var(--text)', faint: 'var(--faint)', seen: 'var(--seen)', axis: 'var(--axis)', pole: 'var(--pole)',
  star: 'var(--star)',
  dial: { turn: 'var(--turn)', line: 'var(--text)', faint: 'var(--faint)' },
};
