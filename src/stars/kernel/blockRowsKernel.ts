import { BLOCK_ROWS_CODE } from './blockRowsCode.js';

/** The WebAssembly of blockRows.assembly.ts: sums over pixel rows, four or eight at a time. Addresses are bytes in `memory`. */
export interface BlockRowsKernel {
  readonly memory: WebAssembly.Memory;
  sumBlocks(upper: number, lower: number, signed: number, out: number, columns: number): void;
  smoothAcross(line: number, out: number, columns: number): void;
  excess(
    a: number, b: number, c: number, limits: number, next: number, row: number, out: number, hits: number, columns: number,
  ): number;
}

let kernel: BlockRowsKernel | null | undefined;

/** The kernel, compiled once; null where this processor or engine has no 128-bit WebAssembly. */
export function blockRowsKernel(): BlockRowsKernel | null {
  if (kernel === undefined) {
    try {
      const bytes = Uint8Array.from(atob(BLOCK_ROWS_CODE), (char) => char.charCodeAt(0));
      kernel = new WebAssembly.Instance(new WebAssembly.Module(bytes)).exports as unknown as BlockRowsKernel;
    } catch {
      kernel = null;
    }
  }
  return kernel;
}
