/** Names that every JavaScript object has, where a file may give any name. */
import { afterAll, beforeEach, describe, expect, it } from 'vitest';
import { readRig } from '../../src/node/rigFile.js';
import { parseCards } from '../../src/frames/fitsCard.js';
import { fitsMetadata } from '../../src/frames/fitsMetadata.js';
import { readFrame } from '../../src/node/readFrame.js';
import { lineOf, parseSessionLines } from '../../src/night/record/sessionLines.js';
import { card, fitsFile } from '../frames/fitsBytes.js';
import { tiledFile } from '../frames/tiledBytes.js';
import { note, start } from '../night/record/entries.js';
import { inputFolder } from './readers.js';

const folder = inputFolder();
afterAll(folder.remove);
const NAMES = ['__proto__', 'constructor', 'toString', 'valueOf', 'hasOwnProperty'];

describe.each(NAMES)('the name %s', (name) => {
  beforeEach(() => {
    expect(Object.keys(Object.prototype)).toEqual([]);
    expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
  });
  it('is a FITS keyword like any other', async () => {
    const keyword = name.slice(0, 8);
    const path = folder.write('keyword.fits', fitsFile(8, [10, 10], Buffer.alloc(100), [
      `${keyword.padEnd(8)}= 'polluted'`.padEnd(80), card('EXPTIME', 4),
    ]));
    const headers = parseCards([`${keyword.padEnd(8)}= 'polluted'`.padEnd(80)]);
    expect([...headers]).toEqual([[keyword.toUpperCase(), 'polluted']]);
    expect(fitsMetadata(headers, null).exposureSeconds).toBeNull();
    expect((await readFrame(path)).metadata.exposureSeconds?.value).toBe(4);
  });
  it('may be a FITS value wherever words count', async () => {
    const words = ['BAYERPAT', 'ROWORDER', 'TIMESYS', 'EXTNAME', 'DATE-OBS', 'CTYPE1', 'CTYPE2', 'SITELAT', 'BINNING'].map(
      (keyword) => card(keyword, `'${name}'`),
    );
    const { metadata, pixelOffset } = await readFrame(folder.write('value.fits', fitsFile(8, [10, 10], Buffer.alloc(100), words)));
    expect([metadata.midExposure, metadata.latitudeDeg, metadata.binning, pixelOffset]).toEqual([null, null, null, 0]);
  });
  it('is no compression and no column of a compressed FITS', async () => {
    const rows = [{ [name]: Buffer.alloc(8), COMPRESSED_DATA: Buffer.alloc(8) }];
    await expect(readFrame(folder.write(
      'method.fz', tiledFile(8, [8, 1], rows, [card('ZCMPTYPE', `'${name}'`)]),
    ))).rejects.toMatchObject({ code: 'not-an-image', message: expect.stringContaining(`compressed by ${name}`) as string });
    await expect(readFrame(folder.write(
      'column.fz', tiledFile(8, [8, 1], [{ [name]: Buffer.alloc(8) }], [card('ZCMPTYPE', "'NOCOMPRESS'")]),
    ))).rejects.toMatchObject({ code: 'file-truncated' });
  });
  it('is no kind of session entry, and the others stay', () => {
    // A whole entry but for its kind.
    const strange = lineOf(note('lost')).replace('"kind":"note"', `"kind":"${name}","${name}":{"polluted":1}`);
    expect(strange).toContain('polluted');
    const { recorded, warnings } = parseSessionLines(lineOf(start()) + strange + lineOf(note('kept')));
    expect(recorded.map(({ line }) => line)).toEqual([1, 3]);
    expect(warnings.map(({ code, line }) => [code, line])).toEqual([['line-unreadable', 2]]);
  });
  it('is no field of a rig file', () => {
    const path = folder.write('rig.json', Buffer.from(`{"${name}": {"polluted": 1}, "site": {"${name}": 1}}`));
    expect(() => readRig(path, path)).toThrow(/is not a valid rig file/);
  });
});
