import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { fileKind } from '../../src/frames/fileKind.js';
import { hasFrameEnding } from '../../src/frames/frameEndings.js';
import { isRawTiff } from '../../src/frames/rawTiff.js';
import { dngBytes } from './dngBytes.js';

const folder = new URL('../../testdata/frames/', import.meta.url).pathname;
const kind = (start: string) => fileKind(Buffer.from(start, 'latin1'));

describe('the kind of a file', () => {
  it.each([
    ['SIMPLE  =                    T', 'fits'], ['\x1f\x8b\x08\0', 'gzip'], ['\x89PNG\r\n\x1a\n', 'png'], ['\xff\xd8\xff\xe1', 'jpeg'],
    ['RIFF\x10\0\0\0WEBPVP8 ', 'webp'], ['RIFF\x10\0\0\0WAVEfmt ', null],
    ['\0\0\0\x20ftypavif\0\0\0\0', 'avif'], ['\0\0\0\x20ftypmif1\0\0\0\0mif1avif', 'avif'], ['\0\0\0\x20ftypheic\0\0\0\0', 'heic'],
    ['\0\0\0\x20ftypmp42\0\0\0\0', null], ['\0\0\0\x18ftypcrx \0\0\0\x01', 'raw'], ['II*\0\x10\0\0\0CR\x02\0', 'raw'],
      ['IIRO\x08\0\0\0', 'raw'],
    ['II*\0\x08\0\0\0', 'tiff'], ['MM\0*\0\0\0\x08', 'tiff'], ['II+\0\x08\0\0\0', 'tiff'], ['MZ', null], ['', null],
  ])('that begins with %j is %s', (start, expected) => {
    expect(kind(start)).toBe(expected);
  });
  it.each(['grey16.tif', 'exif.tif', 'float32.tif', 'grey16-big-endian.tif'])('%s is no raw', (name) => {
    expect(isRawTiff(readFileSync(folder + name))).toBe(false);
  });
  it('of a TIFF with a mosaic in it, wherever its directory lies, is raw', () => {
    const picture = { width: 2, height: 2, data: new Uint16Array(4) };
    const preview = { jpeg: Buffer.alloc(4), width: 2, height: 2 };
    for (const bigEndian of [false, true]) expect(isRawTiff(dngBytes({ ...picture, bigEndian }))).toBe(true);
    // Without the DNG version (here the software's tag instead), as in other raw files: the mosaic is in a SubIFD.
    const undated = dngBytes({ ...picture, preview });
    const version = undated.indexOf(Buffer.from([0x12, 0xc6, 1, 0]));
    undated.writeUInt16LE(305, version);
    expect(isRawTiff(undated)).toBe(true);
  });
  it('of a TIFF whose directories form a circle or point outside the file is found all the same', () => {
    const circle = Buffer.alloc(26);
    circle.write('II*\0', 'latin1');
    circle.writeUInt32LE(8, 4);
    circle.writeUInt16LE(1, 8);
    circle.writeUInt16LE(330, 10);
    circle.writeUInt16LE(4, 12);
    circle.writeUInt32LE(1, 14);
    circle.writeUInt32LE(8, 18);
    circle.writeUInt32LE(8, 22);
    expect(isRawTiff(circle)).toBe(false);
    circle.writeUInt32LE(0xffffffff, 14);
    circle.writeUInt32LE(0xfffffff0, 18);
    expect(isRawTiff(circle)).toBe(false);
    expect(isRawTiff(Buffer.from('II*\0', 'latin1'))).toBe(false);
  });
});

describe('names of frames', () => {
  it.each(['a.fits', 'B.FIT', 'a.fits.gz', 'a.FTS.GZ', 'a.fits.fz', 'a.fz', 'a.dng', 'a.JPG', 'night 1/a.b.tiff', 'a.webp', 'a.avif',
    'a.png'])('%s may be one', (name) => {
    expect(hasFrameEnding(name)).toBe(true);
  });
  it.each(['a.fits.part', 'a.fits.tmp', 'a.gz', 'a.txt', 'fits', '.fits', 'night/.png', 'a.jsonl', 'poleward.json'])('%s is none',
    (name) => {
    expect(hasFrameEnding(name)).toBe(false);
  });
});
