import { type TiffEntries, tiffStructure } from './tiffDirectory.js';

const DNG_VERSION = 50706;
const PHOTOMETRIC = 262;
const COLOUR_MOSAIC = 32803;
const LINEAR_RAW = 34892;
const [WIDTH, HEIGHT] = [256, 257];
const SUB_DIRECTORIES = 330;
/** Tags for the places of strips and tiles, and for their lengths. */
const STRIPS = [[273, 279], [324, 325]] as const;
/** Strips or tiles of a directory that are looked at; no camera writes as many. */
const MOST_STRIPS = 50_000;
/** More directories than any camera writes. */
const MOST_DIRECTORIES = 64;

/**
 * True where a file with TIFF structure is a camera raw: it has a DNG version, or a directory whose picture is a colour mosaic. Damaged
 * directories are skipped, and none is read twice. Source: TIFF 6.0 (1992), section 2; TIFF/EP (ISO 12234-2:2001) for the mosaic; Digital
 * Negative Specification 1.6 (2021).
 */
export function isRawTiff(bytes: Uint8Array): boolean {
  for (const directory of directories(bytes)) {
    if (directory.has(DNG_VERSION) || directory.get(PHOTOMETRIC)?.number(0) === COLOUR_MOSAIC) return true;
  }
  return false;
}

/** Pixels of the largest raw picture that the directories claim; 0 where they claim none. */
export function rawPixelsOfTiff(bytes: Uint8Array): number {
  let most = 0;
  for (const directory of directories(bytes)) {
    const kind = directory.get(PHOTOMETRIC)?.number(0);
    if (kind !== COLOUR_MOSAIC && kind !== LINEAR_RAW) continue;
    most = Math.max(most, (directory.get(WIDTH)?.number(0) ?? 0) * (directory.get(HEIGHT)?.number(0) ?? 0));
  }
  return most;
}

/** Whether a strip or tile of some picture begins, or ends, behind the end of the file: such a file is incomplete. */
export function missingFromTiff(bytes: Uint8Array): 'nothing' | 'an end' | 'a strip' {
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

function* directories(bytes: Uint8Array): Generator<TiffEntries> {
  const structure = tiffStructure(bytes);
  if (!structure) return;
  const seen = new Set<number>();
  const waiting = [structure.first];
  for (let at = waiting.shift(); at !== undefined && seen.size < MOST_DIRECTORIES; at = waiting.shift()) {
    if (at < 8 || seen.has(at)) continue;
    seen.add(at);
    const directory = structure.directory(at);
    if (!directory) continue;
    yield directory.entries;
    const below = directory.entries.get(SUB_DIRECTORIES);
    for (let i = 0; i < Math.min(below?.count ?? 0, MOST_DIRECTORIES); i++) waiting.push(below?.number(i) ?? 0);
    waiting.push(directory.next);
  }
}
