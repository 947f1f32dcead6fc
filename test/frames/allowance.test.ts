import { describe, expect, it } from 'vitest';
import { withAllowance } from '../../src/frames/allowance.js';

const bytes = Buffer.from([0x49, 0x49, 1, 2, 3, 4]);

describe('bytes with an allowance', () => {
  it('are read as they are', () => {
    const read = withAllowance(bytes);
    expect([read.length, read[2], read[99], read.readUInt16LE(2), read.readInt32BE(2), read.toString('latin1', 0, 2)]).toEqual([6, 1, undefined, 0x0201, 0x01020304, 'II']);
    expect(read.slice(2, 4)).toEqual(Buffer.of(1, 2));
    expect(() => read.readUInt32LE(3)).toThrow(RangeError);
  });
  it('stop a reader that takes each of them a hundred thousand times', () => {
    const read = withAllowance(bytes);
    let taken = 0;
    expect(() => { for (; taken < 1e6; taken++) void read[taken % 6]; }).toThrow(/more is asked/);
    expect(taken).toBeGreaterThan(90_000);
  });
  it('stop one that cuts large pieces out again and again', () => {
    const read = withAllowance(Buffer.alloc(1e6));
    let taken = 0;
    expect(() => { for (; taken < 1000; taken++) read.slice(0, 1e6); }).toThrow(/more is asked/);
    expect(taken).toBeGreaterThan(10);
  });
});
