// AssemblyScript: TypeScript's syntax for WebAssembly. `npm run kernel` compiles it into blockRowsCode.ts.
// All addresses are bytes in the module's own memory; rows are 16-byte aligned, and may be written up to 12 bytes beyond their end.

/** Sums of blocks of 2x2 from two rows of 16-bit pixels, into `columns` 32-bit numbers. */
export function sumBlocks(upper: usize, lower: usize, signed: bool, out: usize, columns: i32): void {
  for (let i = 0; i < columns; i += 4) {
    const at = <usize>i << 2;
    const p = v128.load(upper + at);
    const q = v128.load(lower + at);
    const sum = signed
      ? i32x4.add(i32x4.extadd_pairwise_i16x8_s(p), i32x4.extadd_pairwise_i16x8_s(q))
      : i32x4.add(i32x4.extadd_pairwise_i16x8_u(p), i32x4.extadd_pairwise_i16x8_u(q));
    v128.store(out + at, sum);
  }
}

/** (1 2 1) along a row of 32-bit numbers; the rim is repeated outward. `line` has room for one number before and one after it. */
export function smoothAcross(line: usize, out: usize, columns: i32): void {
  store<i32>(line - 4, load<i32>(line));
  const last = line + (<usize>columns << 2);
  store<i32>(last, load<i32>(last - 4));
  for (let i = 0; i < columns; i += 4) {
    const at = line + (<usize>i << 2);
    const here = v128.load(at);
    const sum = i32x4.add(i32x4.add(v128.load(at - 4), v128.load(at + 4)), i32x4.add(here, here));
    v128.store(out + (<usize>i << 2), sum);
  }
}

/**
 * a + 2b + c less the limit, which lies `row` quarters of the way from `limits` to `next`, into `out`; the columns where that is positive
 * into `hits`. Returns how many.
 */
export function excess(
  a: usize, b: usize, c: usize, limits: usize, next: usize, row: i32, out: usize, hits: usize, columns: i32,
): i32 {
  const share = i32x4.splat(row);
  const zero = i32x4.splat(0);
  let n = 0;
  for (let i = 0; i < columns; i += 4) {
    const at = <usize>i << 2;
    const middle = v128.load(b + at);
    const sum = i32x4.add(i32x4.add(v128.load(a + at), v128.load(c + at)), i32x4.add(middle, middle));
    const limit = v128.load(limits + at);
    const rise = i32x4.shr_s(i32x4.mul(share, i32x4.sub(v128.load(next + at), limit)), 2);
    const v = i32x4.sub(i32x4.sub(sum, limit), rise);
    v128.store(out + at, v);
    const over = i32x4.gt_s(v, zero);
    if (v128.any_true(over)) {
      const bits = i32x4.bitmask(over);
      for (let k = 0; k < 4 && i + k < columns; k++) {
        if ((bits >> k) & 1) {
          store<i32>(hits + (<usize>n << 2), i + k);
          n++;
        }
      }
    }
  }
  return n;
}
