/**
 * Layout of `stars.bin`, little-endian: 8 bytes magic, uint32 version, uint32 count, then five columns of `count` values
 * each, the stars in order of rising magnitude:
 *   int32  x, y      ICRS direction cosines times {@link UNIT}; z follows from length 1 and the flag
 *   uint16           magnitude, thousandths, from {@link MAGNITUDE_ZERO}
 *   uint8            flags: {@link SOUTH}, {@link COARSE}
 *   uint8            one-sigma position error at J2000 in each coordinate, hundredths of an arcsecond
 * Within 45° of a pole rounding x and y moves a direction by less than 0.0002″.
 */
export const MAGIC = 'POLESTAR';
export const VERSION = 1;
export const HEADER_BYTES = 16;
export const BYTES_PER_STAR = 12;
export const UNIT = 2 ** 31;
export const MAGNITUDE_ZERO = -2;
export const SOUTH = 1;
export const COARSE = 2;
