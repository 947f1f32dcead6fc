import { execFileSync } from 'node:child_process';
import { chmodSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readFrame } from '../../src/node/readFrame.js';
import { card, fitsFile } from '../frames/fitsBytes.js';

const fixtures = new URL('../../testdata/frames/', import.meta.url).pathname;
let folder = '';
const put = (name: string, bytes: Buffer | string) => {
  const path = join(folder, name);
  writeFileSync(path, bytes);
  return path;
};
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'frames-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

describe('a file that is no frame costs one sentence of what is wrong and one of what to do', () => {
  const refused = async (path: string, code: string, message: string) =>
    expect(readFrame(path)).rejects.toMatchObject({ name: 'PolewardError', code, message });

  it('no such file', async () => {
    const path = join(folder, 'none.fits');
    await refused(path, 'file-unreadable', `There is no file ${path}. Check its name and folder.`);
    await refused(join(put('plain', 'x'), 'below.fits'), 'file-unreadable',
      `There is no file ${folder}/plain/below.fits. Check its name and folder.`);
  });
  it('a folder', () => refused(folder, 'file-unreadable', `${folder} is a folder. Name the frames in it.`));
  it('not a regular file', () => refused('/dev/null', 'file-unreadable',
    '/dev/null is not a regular file but a device. Save the frame to disk and give that.'));
  it('a device that never ends, of which nothing is read', () => refused('/dev/zero', 'file-unreadable',
    '/dev/zero is not a regular file but a device. Save the frame to disk and give that.'));
  it('a named pipe that nobody writes into, without waiting for it', () => {
    const path = join(folder, 'pipe.fits');
    execFileSync('mkfifo', [path]);
    return refused(path, 'file-unreadable', `${path} is not a regular file but a named pipe. Save the frame to disk and give that.`);
  });
  it('a link that leads in a circle', () => {
    const [path, other] = [join(folder, 'there.fits'), join(folder, 'back.fits')];
    symlinkSync(other, path);
    symlinkSync(path, other);
    return refused(path, 'file-unreadable', `${path} is a link that leads in a circle. Give the file itself.`);
  });
  it('a name longer than the system has', () => {
    const path = join(folder, 'a'.repeat(5000));
    return refused(path, 'file-unreadable', `The name ${path.slice(0, 80)}… is too long for this system. Shorten it.`);
  });
  it('a name that is no UTF-8, as folders list it', () => {
    writeFileSync(Buffer.concat([Buffer.from(join(folder, 'n')), Buffer.of(0xff), Buffer.from('.fits')]), 'x');
    const name = readdirSync(folder).find((file) => file.includes('\uFFFD')) as string;
    const path = join(folder, name);
    return refused(path, 'file-unreadable', `The name ${path} holds bytes that are no UTF-8, so that the file can't be opened. Rename it.`);
  });
  it('an empty file', () => {
    const path = put('empty.fits', '');
    return refused(path, 'file-truncated', `${path} is empty. Copy or save it again.`);
  });
  it.skipIf(process.getuid?.() === 0)('a file that may not be read', () => {
    const path = put('secret.fits', 'SIMPLE');
    chmodSync(path, 0);
    return refused(path, 'file-unreadable', `${path} may not be read by this user. Check its permissions.`);
  });
  it.each(['SIMPL', 'dear diary, tonight', '\0'.repeat(5000), 'GIF89a'])('not an image, whatever its name says', (text) => {
    const path = put('text.fits', text);
    return refused(path, 'not-an-image',
      `${path} is not an image this program reads (FITS, camera raw, TIFF, PNG, JPEG, WebP, AVIF). Give frames saved in one of these.`);
  });
  it.each([
    ['heic', '\0\0\0\x18ftypheic\0\0\0\0mif1heic', (path: string) => `${path} is a HEIF picture compressed by HEVC, which this program `
      + `doesn't read. Set the camera to JPEG or raw, or turn it into JPEG.`],
    ['heif', '\0\0\0\x18ftypmif1\0\0\0\0mif1heic', (path: string) => `${path} is a HEIF picture compressed by HEVC, which this program `
      + `doesn't read. Set the camera to JPEG or raw, or turn it into JPEG.`],
    ['jxl', '\0\0\0\x0cJXL \r\n\x87\n', (path: string) =>
      `${path} is a JPEG XL picture, which this program doesn't read. Save it as TIFF, PNG or JPEG.`],
  ])('a picture that is known but not read: %s', (ending, bytes, message) => {
    const path = put(`a.${ending}`, Buffer.from(bytes, 'latin1'));
    return refused(path, 'not-an-image', message(path));
  });
  it('a file larger than any frame, without reading it', () => {
    const path = put('large.fits', 'SIMPLE  =');
    // Sparse: takes no room on disk.
    truncateSync(path, 3 * 2 ** 30);
    return refused(path, 'too-large',
      `${path} has 3.0 GiB, more than the 1 GiB this program reads. Give single frames, binned if need be.`);
  });
  it.each(['FOVb', 'SIMPLE  ='])('a large file that was hardly written, before it is read (%s)', async (mark) => {
    const path = put('holes.raw', mark);
    truncateSync(path, 900e6);
    const before = process.memoryUsage().rss;
    await expect(readFrame(path)).rejects.toMatchObject({
      code: 'file-truncated',
      message: expect.stringMatching(/holes\.raw has room for 900\.0 MB but only 0\.0 MB were written\. Wait until it is whole, or copy it again\.$/) as string,
    });
    expect(process.memoryUsage().rss - before).toBeLessThan(100e6);
  });
  it.each(['grey16.png', 'grey16.tif', 'exif.jpg', 'colour8.tif'])('%s cut short', async (name) => {
    const whole = readFileSync(fixtures + name);
    // Half the file, or all but what the picture ends with (Pillow writes a TIFF's pixels before or after its tags).
    for (const length of [40, Math.floor(whole.length / 2)]) {
      const path = put(name, whole.subarray(0, length));
      const kind = { png: 'PNG', tif: 'TIFF', jpg: 'JPEG' }[name.slice(-3)];
      await refused(path, 'file-truncated', `${path} begins as ${kind} but is cut short or damaged. Copy or save it again.`);
    }
  });
});

describe('a frame', () => {
  const pixels = Buffer.from('000100020003000400050006', 'hex');

  it('is told by its first bytes, not by its name', async () => {
    const path = put('fits.jpg', fitsFile(16, [3, 2], pixels));
    expect([...(await readFrame(path)).image.data]).toEqual([1, 2, 3, 4, 5, 6]);
    expect((await readFrame(put('png.fits', readFileSync(`${fixtures}grey8.png`)))).image.width).toBe(7);
  });
  it('that is no mosaic has no pixel offset and the name it was given', async () => {
    const path = put('mono.fits', fitsFile(16, [3, 2], pixels));
    expect(await readFrame(path)).toMatchObject({ file: path, pixelOffset: 0 });
  });
  it('that is a mosaic comes as luminance, with the offset', async () => {
    const cards = [card('BAYERPAT', "'RGGB    '")];
    const signed = await readFrame(put('mosaic.fits', fitsFile(16, [3, 2], pixels, cards)));
    expect(signed.pixelOffset).toBe(0.5);
    expect([...signed.image.data]).toEqual([3, 4, 4, 3, 4, 4]);
    const unsigned = await readFrame(put('mosaic.fits', fitsFile(16, [3, 2], pixels, [...cards, card('BZERO', 32768)])));
    expect([...unsigned.image.data]).toEqual([32771, 32772, 32772, 32771, 32772, 32772]);
    expect(unsigned.image.data).toBeInstanceOf(Uint16Array);
  });
  it('can be read into memory that has held another', async () => {
    const memory = Buffer.allocUnsafeSlow(2880 * 3).fill(0xaa);
    for (const [hex, values] of [
      ['000100020003000400050006', [1, 2, 3, 4, 5, 6]],
      ['7fff8000ffff000000000001', [32767, -32768, -1, 0, 0, 1]],
    ] as const) {
      const { image } = await readFrame(put('a.fits', fitsFile(16, [3, 2], Buffer.from(hex, 'hex'))), { memory });
      expect(image.data.buffer).toBe(memory.buffer);
      expect([...image.data]).toEqual(values);
    }
  });
  it('too large for the memory given gets its own', async () => {
    const { image } = await readFrame(put('a.fits', fitsFile(16, [3, 2], pixels)), { memory: Buffer.allocUnsafeSlow(100) });
    expect([...image.data]).toEqual([1, 2, 3, 4, 5, 6]);
  });
});
