import { type Card, headerBytes } from '../../frames/fitsHeader.js';
import { worldCoordinates } from '../../identify/worldCoordinates.js';
import type { KnownFrame } from '../recognise/recognition.js';

/** A FITS file without data whose header holds the world coordinates of a frame, and its time where that is known. */
export function wcsFile({ frame, identification, sky }: KnownFrame, timeKnown: boolean): Uint8Array {
  const cards: Card[] = [
    ['SIMPLE', true, 'conforms to FITS standard'],
    ['BITPIX', 8, ''],
    ['NAXIS', 0, 'header only'],
    ...worldCoordinates(frame.width, frame.height, identification.pose, identification.lens, sky),
    ...(timeKnown ? [['DATE-AVG', sky.time.toISOString().replace('Z', ''), 'UTC, middle of the exposure'] satisfies Card] : []),
  ];
  return headerBytes(cards);
}
