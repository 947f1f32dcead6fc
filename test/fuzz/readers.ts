import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import sharp, { type Sharp } from 'sharp';
import { logJson } from '../../src/tasks/log/logJson.js';
import { logText } from '../../src/tasks/log/logText.js';
import { readRig } from '../../src/node/rigFile.js';
import { givenValues } from '../../src/tasks/given/given.js';
import { PolewardError } from '../../src/error.js';
import { decodeRaw } from '../../src/frames/decodeRaw.js';
import type { RawResult } from '../../src/frames/decoders.js';
import { exifMetadata } from '../../src/frames/exifMetadata.js';
import { fileKind } from '../../src/frames/fileKind.js';
import { libRawPicture, type LibRawClass } from '../../src/frames/libRawPicture.js';
import { mosaicToLuminance } from '../../src/frames/mosaic.js';
import { isRawTiff } from '../../src/frames/rawTiff.js';
import { nodeDecoders } from '../../src/node/decoders.js';
import { loadLibRaw } from '../../src/node/loadLibRaw.js';
import { readFrame } from '../../src/node/readFrame.js';
import { readSession } from '../../src/node/sessionFile.js';
import { lineOf } from '../../src/night/record/sessionLines.js';
import { aimOf } from '../../src/night/record/entry.js';
import { nightAsRecorded } from '../../src/night/record/nightOfSession.js';
import { tellStory } from '../../src/night/record/story.js';
import type { Random } from '../../src/simulate/random.js';
import { detectStars } from '../../src/stars/detectStars.js';
import { dngBytes } from '../frames/dngBytes.js';
import { exifBytes } from '../frames/exifBytes.js';
import { losslessJpeg } from '../frames/losslessJpeg.js';
import { tiffBytes } from '../frames/tiffBytes.js';
import { inventLooks } from '../night/inventedLooks.js';
import { lookEntry, looksStart, note, oldStart, recheck, rotation, turn } from '../night/record/entries.js';
import { BY_HAND } from './byHand.js';
import { hostileFits, hostileGzip, hostileTiles } from './hostileFits.js';
import { AVIF_NAMES, hostileBoxes, hostileJpeg, hostilePng, WEBP_NAMES } from './hostilePictures.js';
import { hostileText } from './hostileText.js';
import { hostileExif, hostileRaw, hostileTiff } from './hostileTiff.js';
import { chance, mutate, oneOf } from './mutate.js';
import { unsoundFrame, unsoundMessage, unsoundMetadata, unsoundWords } from './sound.js';

/** What a reader made of an input: read it, or refused it in a sentence; `trouble` says what must not be. */
export interface Outcome {
  readonly kind: 'read' | 'refused';
  readonly trouble: string | null;
}

/** A reader with its hostile inputs. */
export interface Reader {
  readonly name: string;
  /** Of all inputs. */
  readonly share: number;
  /** Makes inputs from whole files; called once. */
  setUp(): Promise<(random: Random) => Buffer>;
  /** Reads a file; throws nothing. */
  read(path: string): Promise<Outcome>;
}

const FRAMES = new URL('../../testdata/frames/', import.meta.url);
const EXIF = {
  36867: '2026:11:25 20:30:00', 36881: '+01:00', 37521: '25', 33434: [[30, 1]], 37386: [[135, 1]], 41486: [[5000, 1]],
} as const;
const GPS = { 0: { byte: 2 }, 1: 'N', 2: [[46, 1], [30, 1], [0, 1]], 3: 'E', 4: [[11, 1], [12, 1], [0, 1]], 6: [[1200, 1]] } as const;

/** All readers of files, frames first. */
export const READERS: readonly Reader[] = [
  {
    name: 'fits', share: 0.2, setUp: async () => { const seeds = testFiles('', /\.fits$/); return (random) => hostileFits(random, seeds); },
    read: readAny,
  },
  {
    name: 'gzip', share: 0.08,
    setUp: async () => { const seeds = testFiles('', /\.fits$/); return (random) => hostileGzip(random, seeds); }, read: readAny,
  },
  {
    name: 'tiles', share: 0.14,
    setUp: async () => { const seeds = testFiles('compressed/', /\.fz$/); return (random) => hostileTiles(random, seeds); }, read: readAny,
  },
  {
    name: 'tiff', share: 0.1, setUp: async () => { const seeds = await tiffSeeds(); return (random) => hostileTiff(random, seeds); },
    read: readAny,
  },
  {
    name: 'png', share: 0.08, setUp: async () => { const seeds = await pngSeeds(); return (random) => hostilePng(random, seeds); },
    read: readAny,
  },
  {
    name: 'jpeg', share: 0.08, setUp: async () => { const seeds = await jpegSeeds(); return (random) => hostileJpeg(random, seeds); },
    read: readAny,
  },
  {
    name: 'webp', share: 0.05,
    setUp: async () => { const seeds = await webpSeeds(); return (random) => hostileBoxes(random, seeds, WEBP_NAMES); }, read: readAny,
  },
  {
    name: 'avif', share: 0.03,
    setUp: async () => { const seeds = await avifSeeds(); return (random) => hostileBoxes(random, seeds, AVIF_NAMES); }, read: readAny,
  },
  {
    name: 'raw', share: 0.08, setUp: async () => { const seeds = await rawSeeds(); return (random) => hostileRaw(random, seeds); },
    read: readRawHere,
  },
  {
    name: 'exif', share: 0.08, setUp: async () => { const seeds = exifSeeds(); return (random) => hostileExif(random, seeds); },
    read: readExif,
  },
  { name: 'rig', share: 0.04, setUp: async () => (random) => hostileText(random, RIGS), read: readRigFile },
  { name: 'session', share: 0.04, setUp: async () => (random) => hostileText(random, SESSIONS), read: readSessionFile },
  ...BY_HAND,
];

/** Files made to cost much, as they are and damaged. Few, since each takes a second to make. */
export const COSTLY: Reader = {
  name: 'costly', share: 0.002, read: readAny,
  setUp: async () => {
    // In a process of its own, since making them takes more memory than reading.
    const folder = inputFolder();
    execFileSync(process.execPath, ['--import', 'tsx', fileURLToPath(new URL('./makeCostly.ts', import.meta.url)), folder.path]);
    const files = readdirSync(folder.path).sort().map((file) => readFileSync(join(folder.path, file)));
    folder.remove();
    return (random) => (chance(random, 0.3) ? oneOf(random, files) : mutate(random, oneOf(random, files), oneOf(random, files)));
  },
};

/** Runs a reader: what it throws must be a PolewardError whose message is one or two sentences. */
export async function outcome(read: () => Promise<string | null>): Promise<Outcome> {
  try {
    return { kind: 'read', trouble: await read() };
  } catch (error) {
    if (error instanceof PolewardError) return { kind: 'refused', trouble: unsoundMessage(error.message) };
    return { kind: 'refused', trouble: error instanceof Error ? String(error.stack) : `threw ${String(error)}` };
  }
}

/** Pictures up to this size are looked through for stars too. */
const SMALL_PICTURE = 100_000;

export function readAny(path: string): Promise<Outcome> {
  return outcome(async () => {
    const frame = await readFrame(path);
    const trouble = unsoundFrame(frame);
    if (trouble === null && frame.image.data.length <= SMALL_PICTURE) detectStars(frame.image);
    return trouble;
  });
}

/** LibRaw's module never gives memory back, so a new one is made now and then. */
const MODULE_USES = 100;
let module: { LibRaw: LibRawClass; uses: number } | null = null;

async function libRawHere(bytes: Uint8Array, mostPixels: number): Promise<RawResult> {
  if (!module || module.uses >= MODULE_USES) {
    module = null;
    // Its memory is large, and the collector sees only a small object.
    globalThis.gc?.();
    module = { LibRaw: await loadLibRaw(), uses: 0 };
  }
  module.uses++;
  return libRawPicture(module.LibRaw, new Uint8Array(bytes), mostPixels);
}

/** A camera raw as `readFrame` reads it, but with LibRaw in this thread: a thread for each file would take most of the time. */
function readRawHere(path: string): Promise<Outcome> {
  const bytes = readFileSync(path);
  const kind = fileKind(bytes);
  if (kind !== 'raw' && !(kind === 'tiff' && isRawTiff(bytes))) return readAny(path);
  return outcome(async () => {
    const { image, metadata, mosaic, standIn } = await decodeRaw(bytes, path, null, { ...nodeDecoders, decodeRaw: libRawHere });
    return unsoundFrame({
      file: path, image: mosaic ? mosaicToLuminance(image, image.data instanceof Uint16Array ? image.data : undefined) : image,
      pixelOffset: mosaic ? 0.5 : 0, firstRowBottom: false, standIn, notes: [], metadata,
    });
  });
}

function readExif(path: string): Promise<Outcome> {
  return outcome(
    async () => unsoundMetadata(exifMetadata(readFileSync(path), null)) ?? unsoundMetadata(exifMetadata(readFileSync(path), 60)),
  );
}

function readRigFile(path: string): Promise<Outcome> {
  return outcome(async () => {
    const rig = readRig(path, path);
    givenValues({}, { rig, path, from: '--rig' });
    return null;
  });
}

function readSessionFile(path: string): Promise<Outcome> {
  return outcome(async () => {
    const session = readSession(path);
    if (!session) return null;
    const story = tellStory(session.recorded, nightAsRecorded(session), aimOf(session.recorded));
    JSON.stringify(logJson(session, story));
    return unsoundWords([...logText(session.start, story).split('\n'), ...session.warnings.map(({ message }) => message)]);
  });
}

const RIGS = [
  JSON.stringify({
    schema: 'poleward/rig-1', name: 'invented', site: { latitudeDeg: 46.5, longitudeDeg: 11.2, elevationMetres: 1200, skyMagnitude: 21 },
    clock: { utcOffset: '+01:00', offsetSeconds: 2 },
    camera: {
      pixelSizeMicrometres: 3.76, focalLengthMillimetres: 200, apertureMillimetres: 50, widthPixels: 6000, heightPixels: 4000,
      readNoiseElectrons: 2,
    },
    mount: { capacityKilograms: 20, payloadKilograms: 8 },
    knobs: {
      azimuth: { thread: 'M8', leverArmMillimetres: 150, clockwise: 'east', pushPull: true, screw: 'left' },
      altitude: { arcminPerTurn: 40, clockwise: 'raise', smallestTurn: 0.1, backlashTurns: 0.2 },
    },
  }, null, 2),
  '{\n  // invented\n  "site": { "latitudeDeg": -30.2, "longitudeDeg": 149, },\n  "knobs": { "altitude": { "thread": "M10x1", '
    + '"leverArmMillimetres": 90 } },\n}\n',
];
const LOOKS = inventLooks({ altitude: 30, azimuth: -20, stars: 12 }, [{}, { west: 40 }, { east: 12 }, { west: -30 }]).map(lookEntry);
const SESSIONS = [
  // Of version 1, and of today's.
  [
    oldStart(), rotation(0, 30, -20), turn('azimuth', 0.5, 2, 12), note('umläut'), rotation(10, 4, 3), turn('altitude', -0.25, 12, 3, true),
    recheck(14, 1, 0.5),
  ].map(lineOf).join(''),
  [oldStart(), note('only words'), rotation(3, 80, 120, 3, 2)].map(lineOf).join(''),
  [looksStart(), ...LOOKS.slice(0, 2), turn('azimuth', 0.5, 3, 12), note('umläut'), ...LOOKS.slice(2)].map(lineOf).join(''),
];

function testFiles(folder: string, name: RegExp): Buffer[] {
  const directory = new URL(folder, FRAMES);
  return readdirSync(directory).filter((file) => name.test(file)).sort().map((file) => readFileSync(new URL(file, directory)));
}

const [WIDTH, HEIGHT] = [40, 24];

/** Invented grey or colour pictures for sharp to pack. */
function picture(channels: 1 | 2 | 3 | 4, width = WIDTH, height = HEIGHT): Sharp {
  const data = Uint8Array.from({ length: width * height * channels }, (_, i) => 20 + ((i * 7919) % 41));
  return sharp(data, { raw: { width, height, channels } });
}

const withExif = (image: Sharp): Sharp => image.withExif({ IFD2: { DateTimeOriginal: '2026:11:25 '
  + '20:30:00', OffsetTimeOriginal: '+01:00', ExposureTime: '30/1' } });

async function tiffSeeds(): Promise<Buffer[]> {
  const made = [
    ...(['none', 'lzw', 'deflate', 'packbits', 'jpeg'] as const).flatMap(
      (compression) => [picture(1).tiff({ compression }), picture(3).tiff({ compression, predictor: 'none' })],
    ),
    picture(3).tiff({ tile: true, tileWidth: 16, tileHeight: 16 }),
    picture(3).tiff({ pyramid: true, tile: true, tileWidth: 16, tileHeight: 16 }), picture(4).tiff(), picture(1).tiff({ bitdepth: 1 }),
    picture(3).toColourspace('rgb16').tiff({ predictor: 'horizontal', compression: 'lzw' }),
  ];
  return [
    ...testFiles('', /\.tif$/), tiffBytes(8, 4, 16, Buffer.alloc(64, 9), [[36867, 2, EXIF[36867]]], true),
    ...await Promise.all(made.map((image) => image.toBuffer())),
  ];
}

async function pngSeeds(): Promise<Buffer[]> {
  const made = [
    picture(1).png(), picture(2).png(), picture(3).png({ progressive: true }), picture(4).png({ palette: true }),
    picture(3).toColourspace('rgb16').png(), withExif(picture(3)).png(), picture(3, 300, 200).png(),
  ];
  return [...testFiles('', /\.png$/), ...await Promise.all(made.map((image) => image.toBuffer()))];
}

async function jpegSeeds(): Promise<Buffer[]> {
  const made = [
    picture(1).jpeg(), picture(3).jpeg({ quality: 60 }), picture(3).jpeg({ progressive: true }),
    picture(3).jpeg({ chromaSubsampling: '4:4:4', optimiseCoding: false }),
    withExif(picture(3)).jpeg(), picture(3).toColourspace('cmyk').jpeg(), picture(3, 300, 200).jpeg({ progressive: true }),
  ];
  return [...testFiles('', /\.jpg$/), ...await Promise.all(made.map((image) => image.toBuffer()))];
}

function webpSeeds(): Promise<Buffer[]> {
  return Promise.all([
    picture(3).webp(), picture(4).webp(), picture(3).webp({ lossless: true }), picture(4).webp({ nearLossless: true }),
    withExif(picture(3)).webp(), picture(3, 300, 200).webp(),
  ].map((image) => image.toBuffer()));
}

function avifSeeds(): Promise<Buffer[]> {
  return Promise.all([
    picture(3).avif({ effort: 1 }), picture(4).avif({ effort: 1 }), withExif(picture(3)).avif({ effort: 1 }),
    picture(1).avif({ lossless: true, effort: 1 }), picture(3, 300, 200).avif({ effort: 1 }),
  ].map((image) => image.toBuffer()));
}

async function rawSeeds(): Promise<Buffer[]> {
  const data = Uint16Array.from({ length: 32 * 24 }, (_, i) => 500 + ((i * 7919) % 3001));
  const jpeg = await picture(3, 32, 24).jpeg().toBuffer();
  const base = { width: 32, height: 24, data, exif: [[36867, 2, EXIF[36867]], [36881, 2, '+01:00'], [33434, 5, [30, 1]]] as const };
  const preview = { jpeg, width: 32, height: 24 };
  return [
    dngBytes(base), dngBytes({ ...base, preview }), dngBytes({ ...base, bigEndian: true, preview }),
    dngBytes({ ...base, compression: 12345, preview }),
    dngBytes({ ...base, compression: 7, packed: losslessJpeg(32, 24, data) }),
    dngBytes({ ...base, compression: 7, packed: losslessJpeg(32, 24, data), preview }),
    dngBytes({ ...base, pattern: null, data: Uint16Array.from({ length: 32 * 24 * 3 }, (_, i) => i % 4000) }),
    dngBytes({ ...base, activeArea: [2, 2, 22, 30] }),
    dngBytes({ ...base, bits: 12, packed: Buffer.alloc(32 * 24 * 1.5, 0x5a) }), dngBytes({ ...base, mark: 'CR\x02\0\0\0\0\0', preview }),
    dngBytes({ ...base, number: 'RO', preview }),
    dngBytes({ ...base, cell: 6, pattern: Array.from({ length: 36 }, (_, i) => i % 3) }),
  ];
}

function exifSeeds(): Buffer[] {
  return [exifBytes(EXIF, GPS), exifBytes({ 36867: EXIF[36867] }, {}), ...testFiles('', /exif\.tif$/)];
}

/** A folder for inputs, and how to be rid of it. */
export function inputFolder(): { path: string; write(name: string, bytes: Buffer): string; remove(): void } {
  const path = mkdtempSync(join(tmpdir(), 'poleward-fuzz-'));
  return {
    path,
    write(name, bytes) {
      const file = join(path, name);
      writeFileSync(file, bytes);
      return file;
    },
    remove: () => rmSync(path, { recursive: true, force: true }),
  };
}
