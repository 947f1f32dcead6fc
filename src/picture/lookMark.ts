import { fileName } from '../fileName.js';
import type { FrameMarks } from './frameMarks.js';

/**
 * A mark in a picture file for the look that it was drawn from, so that a rerun recognises it: plain ASCII, which SVG and EXIF can both
 * store.
 */
export function lookMark({ utc, file }: Pick<FrameMarks, 'utc' | 'file'>): string {
  return `poleward look: ${utc} ${plainName(file)}`;
}

/** The mark in a file's text, whatever kind of picture it is; null where there is none. */
export function lookMarkIn(text: string): string | null {
  return /poleward look: [\d:.TZ-]+ [ -~]*?(?=["\0]|$)/.exec(text)?.[0] ?? null;
}

/** Whether a mark is that of a look at a frame, whenever it was taken. */
export function isLookAt(mark: string, frame: string): boolean {
  return mark.split(' ').slice(3).join(' ') === plainName(frame);
}

function plainName(file: string): string {
  return fileName(file).replace(/[^ -~]|["'&<>]/g, '?');
}
