/** A thousand of the inputs of `npm run fuzz`, and claims of size whose memory is measured in a process of its own. */
import { execFile } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import sharp, { type Sharp } from 'sharp';
import { afterAll, describe, expect, it } from 'vitest';
import { makeRandom } from '../../src/simulate/random.js';
import { dngBytes } from '../frames/dngBytes.js';
import { card, headerBytes, imageCards } from '../frames/fitsBytes.js';
import { tiffBytes } from '../frames/tiffBytes.js';
import { tiledFile } from '../frames/tiledBytes.js';
import { LONGEST_MS } from './limits.js';
import { readApart } from './readApart.js';
import { inputFolder, READERS } from './readers.js';

const INPUTS = 600;
/** Pictures made to cost much, with specks, or with words in EXIF are never refused; what is not a regular file always is. */
const ALWAYS_READ = ['exif', 'costs', 'specks', 'words'];
const folder = inputFolder();
afterAll(folder.remove);

describe('hostile files are read or refused in a sentence', () => {
  it.each(READERS.map((reader) => [reader.name, reader] as const))('%s', async (name, { share, setUp, read }) => {
    const make = await setUp();
    const kinds = { read: 0, refused: 0 };
    for (let index = 0; index < INPUTS * share; index++) {
      const path = folder.write(name, make(makeRandom(`test/${name}/${index}`)));
      const begun = process.cpuUsage();
      const { kind, trouble } = await read(path);
      const { user, system } = process.cpuUsage(begun);
      expect(trouble, `${name} ${index}`).toBeNull();
      // Work done, not time passed: the machine may be busy.
      expect((user + system) / 1000, `${name} ${index}`).toBeLessThan(LONGEST_MS);
      kinds[kind]++;
    }
    // Inputs that are all refused, or (but for some kinds) all read, would test little.
    if (name !== 'paths') expect(kinds.read).toBeGreaterThan(0);
    if (!ALWAYS_READ.includes(name)) expect(kinds.refused).toBeGreaterThan(0);
  });
});

const SMALL = Uint8Array.from({ length: 300 }, (_, i) => i);
const small = (): Sharp => sharp(SMALL, { raw: { width: 20, height: 15, channels: 1 } });
const at = (bytes: Buffer, name: string): number => {
  const place = bytes.indexOf(name, 0, 'latin1');
  expect(place).toBeGreaterThan(0);
  return place;
};
/** Small files that claim `width` × `height` pixels. */
const CLAIMS: Readonly<Record<string, (width: number, height: number) => Promise<Buffer>>> = {
  fits: async (width, height) => Buffer.concat([headerBytes(imageCards(16, width, height)), Buffer.alloc(2880)]),
  'fits.gz': async (width, height) => gzipSync(Buffer.concat([headerBytes(imageCards(16, width, height)), Buffer.alloc(28_800)])),
  'fits.fz': async (width, height) => tiledFile(16, [width, height], [{ COMPRESSED_DATA: gzipSync(Buffer.alloc(100)) }],
    [card('ZCMPTYPE', '\'GZIP_1\'')]),
  tif: async (width, height) => {
    const bytes = tiffBytes(20, 15, 8, Buffer.from(SMALL), []);
    const directory = bytes.readUInt32LE(4);
    bytes.writeUInt32LE(width, directory + 2 + 8);
    bytes.writeUInt32LE(height, directory + 2 + 12 + 8);
    return bytes;
  },
  png: async (width, height) => {
    // Without a right sum no decoder goes on: made anew by zlib's own.
    const bytes = await small().png().toBuffer();
    bytes.writeUInt32BE(width, 16);
    bytes.writeUInt32BE(height, 20);
    bytes.writeUInt32BE(crcOf(bytes.subarray(12, 29)), 29);
    return bytes;
  },
  jpg: async (width, height) => {
    const bytes = await small().jpeg().toBuffer();
    const frame = at(bytes, '\xff\xc0');
    bytes.writeUInt16BE(height, frame + 5);
    bytes.writeUInt16BE(width, frame + 7);
    return bytes;
  },
  webp: async (width, height) => {
    const bytes = await small().webp({ lossless: true }).toBuffer();
    const frame = at(bytes, 'VP8L') + 9;
    // 14 bits each, less one.
    bytes.writeUInt32LE((((width - 1) & 0x3fff) | (((height - 1) & 0x3fff) << 14)) >>> 0, frame);
    return bytes;
  },
  avif: async (width, height) => {
    const bytes = await small().avif({ effort: 1 }).toBuffer();
    const size = at(bytes, 'ispe') + 8;
    bytes.writeUInt32BE(width, size);
    bytes.writeUInt32BE(height, size + 4);
    return bytes;
  },
  // LibRaw reads none that is narrower than 22 pixels.
  dng: async (width, height) => dngBytes({ width: 64, height: 48, data: new Uint16Array(64 * 48),
    instead: [[256, 4, [width]], [257, 4, [height]]] }),
};

/** CRC-32 as gzip has it, which is PNG's. */
function crcOf(bytes: Buffer): number {
  const packed = gzipSync(bytes);
  return packed.readUInt32LE(packed.length - 8);
}

describe('a file that claims more pixels than it can hold, or than any camera has, is refused before memory is taken', () => {
  it.each(Object.keys(CLAIMS))('.%s', async (ending) => {
    const claim = CLAIMS[ending]!;
    const whole = folder.write(`whole.${ending}`, ending.startsWith('fits')
      ? Buffer.concat([headerBytes(imageCards(8, 10, 10)), Buffer.alloc(2880)]) : ending === 'dng' ? await claim(64, 48)
      : await claim(20, 15));
    const hostile = [folder.write(`144M.${ending}`, await claim(12_000, 12_000)),
      folder.write(`256M.${ending}`, await claim(16_000, 16_000))];
    const [first, ...said] = await readApart(whole, ...hostile);
    expect(first?.ending).toBe('read');
    expect(said).toHaveLength(2);
    for (const { ending: refusal } of said) expect(refusal).toMatch(/^(file-truncated|too-large): \S.+\. [A-Z].+\.$/);
    const bytes = (said[1]?.bytes ?? Infinity) - (first?.bytes ?? 0);
    // The pixels alone would take 144 MB or more. Modules loaded late take some.
    expect(bytes).toBeLessThan(60e6);
  });
});

describe('the whole program', () => {
  const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));
  const refused = async (...args: string[]): Promise<string> => {
    const { status, stdout, stderr } = await run([main, ...args]);
    expect([status, stdout], stderr).toEqual([1, '']);
    expect(stderr).not.toMatch(/^\s+at |[a-z]Error\b|node:|went wrong inside/m);
    return stderr.trim();
  };
  it.each(READERS.filter(({ name }) => !['exif', 'rig', 'session', 'paths'].includes(name))
    .map((reader) => [reader.name, reader] as const))(
    'says of hostile %s in one or two sentences what is wrong, or what hinders it as far as it can be read', async (name, { setUp }) => {
      const make = await setUp();
      const path = folder.write(`${name}-whole-program`, make(makeRandom(`program/${name}/0`)));
      const { status, stdout, stderr } = await run([main, 'inspect', path, '--json']);
      if (stdout !== '') {
        expect([0, 1]).toContain(status);
        // A picture that shows no sky is described all the same.
        const { schema, hindrances } = JSON.parse(stdout) as { schema: string; hindrances: unknown[] };
        expect([schema, hindrances.length > 0]).toEqual(['poleward/frame-1', true]);
        expect(stderr).not.toMatch(/^\s+at |[a-z]Error\b|node:|went wrong inside/m);
        return;
      }
      const said = await refused('inspect', path, '--json');
      expect(said).toMatch(/^\S.*[.?)]$/s);
      // Where it is only the time that is missing, what the reader remarked (up to two) stands between them.
      expect(said.match(/[.?!](?=\s|$)/g)?.length, said).toBeLessThanOrEqual(said.includes('does not say when it was taken') ? 4 : 2);
    });
  it('says of hostile rig files what is wrong, line by line', async () => {
    const frame = folder.write('frame.fits', Buffer.concat([headerBytes(imageCards(8, 10, 10)), Buffer.alloc(2880)]));
    for (const text of ['[', '['.repeat(60_000), '{"site": {"latitudeDeg": NaN, "longitudeDeg": 1e999}}', '{"\\u001b[2J": 1}',
      '\0\0\0\0']) {
      expect(await refused('inspect', frame, '--json', '--rig', folder.write('rig.json', Buffer.from(text))))
        .toMatch(/is not a valid rig file\. .*\nline 1: .+\.$/s);
    }
  });
  it('says of a hostile session file that it is none', async () => {
    expect(await refused('log', '--session', folder.write('session.jsonl', Buffer.from('{"a":'.repeat(50_000)))))
      .toMatch(/is not a session of Poleward, and is left as it is\. Give another name \(--session FILE\)\.$/);
  });
});

function run(args: string[]): Promise<{ status: number; stdout: string; stderr: string }> {
  return new Promise((resolve) => {
    execFile(process.execPath, args, { encoding: 'utf8' }, (error, stdout, stderr) =>
      resolve({ status: error ? Number(error.code) : 0, stdout, stderr }));
  });
}
