/** Accesses for each byte of a file: a number in a list costs three. */
const FOR_A_BYTE = 4;
const AT_LEAST = 100_000;
/** A second or two of work. */
const AT_MOST = 8_000_000;
/** Bytes of a piece cut out that count as one access. */
const CUT_BYTES = 16;

/**
 * The same bytes for a reader that believes every count it finds (exif-reader does): its accesses are counted, and one too many throws.
 * Where no two entries share their values, as in any file that a program wrote, there are enough; but sixty thousand entries of a
 * damaged one may each claim all of it.
 */
export function withAllowance(bytes: Buffer): Buffer {
  let left = Math.min(AT_MOST, AT_LEAST + FOR_A_BYTE * bytes.length);
  const take = (count: number): void => {
    left -= count;
    if (left < 0) throw new RangeError('more is asked of these bytes than they can mean');
  };
  return new Proxy(bytes, {
    get(target, key) {
      take(1);
      if (key === 'slice') {
        return (start: number, end: number): Buffer => {
          const piece = target.subarray(start, end);
          take(piece.length / CUT_BYTES);
          return piece;
        };
      }
      // The methods of typed arrays want the array itself.
      const value: unknown = Reflect.get(target, key, target);
      return typeof value === 'function' ? (value.bind(target) as unknown) : value;
    },
  });
}
