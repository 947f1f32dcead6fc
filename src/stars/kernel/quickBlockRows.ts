import type { Image } from '../../frames/frame.js';
import { type BlockRows, type Hits, type Row, ROWS_PER_LIMIT } from '../blockRows.js';
import { blockRowsKernel } from './blockRowsKernel.js';

/** A row in the kernel's memory. */
interface Place {
  readonly address: number;
  readonly values: Int32Array;
}

/**
 * The same as `plainBlockRows` in whole numbers, several at a time, for 16-bit pixels and blocks of 2x2; null for others, where the noise
 * is so small that whole numbers are too coarse, and where the kernel can't run. Uses the kernel's memory until the next call.
 */
export function quickBlockRows({ width, height, data }: Image, block: number, noise: number): BlockRows | null {
  const signed = data instanceof Int16Array;
  if (block !== 2 || !(noise > 1) || !(signed || data instanceof Uint16Array)) return null;
  const kernel = blockRowsKernel();
  if (kernel === null || ROWS_PER_LIMIT !== 4) return null;
  const columns = width >> 1;
  const rows = height >> 1;

  // Every row has room for a vector before it and one after it.
  const stride = 16 * Math.ceil((4 * columns) / 16) + 32;
  const places = 12;
  const missing = places * stride + 16 - kernel.memory.buffer.byteLength;
  if (missing > 0) kernel.memory.grow(Math.ceil(missing / 65536));
  const { buffer } = kernel.memory;
  let used = 0;
  const makePlace = (): Place => {
    const address = stride * used++ + 16;
    return { address, values: new Int32Array(buffer, address, columns) };
  };
  const line = makePlace();
  const limits = [makePlace(), makePlace()];
  const three = [makePlace(), makePlace(), makePlace()];
  const smoothed = [makePlace(), makePlace(), makePlace()];
  for (const { values } of smoothed) values.fill(-1);
  const hits: (Hits & { address: number })[] = [makePlace(), makePlace()].map(
    ({ address, values }) => ({ address, count: 0, columns: values }),
  );
  // Two rows of pixels, which take half the room each.
  const pixels = makePlace().address;
  const upper = new Uint16Array(buffer, pixels, 2 * columns);
  // Only here are signed pixels treated as unsigned ones: bits are copied.
  const source = signed ? new Uint16Array(data.buffer, data.byteOffset, data.length) : (data as Uint16Array);
  const lowerAddress = line.address;
  const lower = new Uint16Array(buffer, lowerAddress, 2 * columns);
  return {
    take(j) {
      three.push(three.shift()!);
      const [, before, newest] = three as [Place, Place, Place];
      if (j >= rows) {
        newest.values.set(before.values);
        return;
      }
      const start = 2 * j * width;
      upper.set(source.subarray(start, start + 2 * columns));
      // The lower row is where its sums will be: each value is read before it is overwritten.
      lower.set(source.subarray(start + width, start + width + 2 * columns));
      kernel.sumBlocks(pixels, lowerAddress, signed ? 1 : 0, line.address, columns);
      kernel.smoothAcross(line.address, newest.address, columns);
      if (j === 0) before.values.set(newest.values);
    },
    limitAhead(limit) {
      limits.reverse();
      limits[1]!.values.set(limit);
    },
    smooth(row) {
      smoothed.push(smoothed.shift()!);
      hits.reverse();
      const newest = hits[1]!;
      newest.count = kernel.excess(
        three[0]!.address, three[1]!.address, three[2]!.address, limits[0]!.address, limits[1]!.address, row,
        smoothed[2]!.address, newest.address, columns,
      );
    },
    close() {
      smoothed.push(smoothed.shift()!);
      hits.reverse();
      smoothed[2]!.values.fill(-1);
      hits[1]!.count = 0;
    },
    get above(): Row { return smoothed[0]!.values; },
    get here(): Row { return smoothed[1]!.values; },
    get below(): Row { return smoothed[2]!.values; },
    get hits() { return hits[0]!; },
  };
}
