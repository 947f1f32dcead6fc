import { DEGREE } from '../../geometry/angle.js';

/**
 * Layout of `sky.bin`, little-endian: the stars to V 11 that `stars.bin` leaves out, cell by cell (`cells.ts`), brightest
 * first in each.
 *   8 bytes magic, then uint32 version, cells, words, special stars
 *   float64    seven numbers a special star: see below
 *   uint32     words, those of cell 0 first
 *   uint8      number of words of each cell
 *   uint8      magnitude from which a cell's first word counts, tenths from {@link MAGNITUDE_ZERO}
 *
 * A word is a star: 4 bits (the highest) by how many tenths it is fainter than the one before, 14 bits its place on the
 * tangent plane of the cell to the east, 14 bits to the north, in steps of {@link STEP} from -{@link REACH}. The 4 bits
 * all set say: no star, only 1.5 magnitudes fainter. Rounding moves a star by 0.05″ in each coordinate (one sigma).
 *
 * Special stars are those whose error is not what their magnitude says, or that moved since J2000 in a way that is known:
 * number (the stars of `stars.bin` first, then the words), error at J2000 (radians), motion (three numbers, radians a
 * year), error of the motion (radians a year; negative = as for all stars), 1 where the place is from the list of bright stars.
 */
export const SKY_MAGIC = 'SKYCELLS';
export const SKY_VERSION = 1;
export const SKY_HEADER_BYTES = 24;
export const SPECIAL_NUMBERS = 7;
export const PLACE_BITS = 14;
export const REACH = 0.385 * DEGREE;
export const STEP = (2 * REACH) / (1 << PLACE_BITS);
/** What rounding to {@link STEP} adds to a star's error, radians in each coordinate. */
export const ROUNDING = STEP / Math.sqrt(12);
export const NO_STAR = 15;
/** Magnitudes for each step of a word's highest bits. */
export const TENTH = 0.1;
