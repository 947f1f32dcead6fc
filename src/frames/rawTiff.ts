const DNG_VERSION = 50706;
const PHOTOMETRIC = 262;
const COLOUR_MOSAIC = 32803;
const LINEAR_RAW = 34892;
const [WIDTH, HEIGHT] = [256, 257];
const SUB_DIRECTORIES = 330;
/** Tags of where strips and tiles lie, and of their lengths. */
const STRIPS = [[273, 279], [324, 325]] as const;
const SHORT = 3;
/** Strips or tiles of a directory that are looked at; no camera writes as many. */
const MOST_STRIPS = 50_000;
/** More directories than any camera writes. */
const MOST_DIRECTORIES = 64;

/** The entries of one directory by their tags: where the four bytes of the value stand, its count, and how to read its numbers. */
type Directory = ReadonlyMap<number, { readonly count: number; number(index: number): number | null }>;

/**
 * True where a file built as TIFF is a camera raw: it has a DNG version, or a directory whose picture is a colour mosaic.
 * Damaged directories are passed over, and none is read twice.
 * Source: TIFF 6.0 (1992), section 2; TIFF/EP (ISO 12234-2:2001) for the mosaic; Digital Negative Specification 1.6 (2021).
 */
export function isRawTiff(bytes: Buffer): boolean {
  for (const directory of directories(bytes)) {
    if (directory.has(DNG_VERSION) || directory.get(PHOTOMETRIC)?.number(0) === COLOUR_MOSAIC) return true;
  }
  return false;
}

/** Pixels of the largest raw picture that the directories claim; 0 where they claim none. */
export function rawPixelsOfTiff(bytes: Buffer): number {
  let most = 0;
  for (const directory of directories(bytes)) {
    const kind = directory.get(PHOTOMETRIC)?.number(0);
    if (kind !== COLOUR_MOSAIC && kind !== LINEAR_RAW) continue;
    most = Math.max(most, (directory.get(WIDTH)?.number(0) ?? 0) * (directory.get(HEIGHT)?.number(0) ?? 0));
  }
  return most;
}

/** Whether a strip or tile of some picture begins, or at least ends, behind the end of the file: such a file is not whole. */
export function missingFromTiff(bytes: Buffer): 'nothing' | 'an end' | 'a strip' {
  let missing: 'nothing' | 'an end' = 'nothing';
  for (const directory of directories(bytes)) {
    for (const [place, length] of STRIPS) {
      const places = directory.get(place);
      for (let i = 0; i < Math.min(places?.count ?? 0, MOST_STRIPS); i++) {
        const start = places?.number(i) ?? 0;
        if (start >= bytes.length) return 'a strip';
        if (start + (directory.get(length)?.number(i) ?? 0) > bytes.length) missing = 'an end';
      }
    }
  }
  return missing;
}

function* directories(bytes: Buffer): Generator<Directory> {
  const little = bytes[0] === 0x49;
  const short = (at: number): number => (little ? bytes.readUInt16LE(at) : bytes.readUInt16BE(at));
  const long = (at: number): number => (little ? bytes.readUInt32LE(at) : bytes.readUInt32BE(at));
  if (bytes.length < 8 || short(2) !== 42) return;
  const seen = new Set<number>();
  const waiting = [long(4)];
  while (waiting.length > 0 && seen.size < MOST_DIRECTORIES) {
    const at = waiting.shift() as number;
    if (at < 8 || at + 2 > bytes.length || seen.has(at)) continue;
    seen.add(at);
    const end = at + 2 + 12 * short(at);
    if (end > bytes.length) continue;
    const directory = new Map<number, { count: number; number(index: number): number | null }>();
    for (let entry = at + 2; entry < end; entry += 12) {
      const size = short(entry + 2) === SHORT ? 2 : 4;
      // A count of more than the file holds is none.
      const count = Math.min(long(entry + 4), Math.floor(bytes.length / size));
      const list = count * size <= 4 ? entry + 8 : long(entry + 8);
      const number = (index: number): number | null => {
        const place = list + index * size;
        if (index >= count || place + size > bytes.length) return null;
        return size === 2 ? short(place) : long(place);
      };
      directory.set(short(entry), { count, number });
    }
    yield directory;
    const below = directory.get(SUB_DIRECTORIES);
    for (let i = 0; i < Math.min(below?.count ?? 0, MOST_DIRECTORIES); i++) waiting.push(below?.number(i) ?? 0);
    if (end + 4 <= bytes.length) waiting.push(long(end));
  }
}
