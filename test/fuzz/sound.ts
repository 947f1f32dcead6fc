import type { Frame, FrameMetadata } from '../../src/frames/frame.js';

/** What is unsound in a frame that was read, in words; null where everything in it can be used. */
export function unsoundFrame({ image, pixelOffset, metadata, notes, standIn }: Frame): string | null {
  const { width, height, data, ceiling } = image;
  if (!isCount(width) || !isCount(height)) return `a picture of ${width} × ${height}`;
  if (data.length !== width * height) return `${data.length} pixels in a picture of ${width} × ${height}`;
  if (ceiling !== null && !Number.isFinite(ceiling)) return `the ceiling ${ceiling}`;
  if (pixelOffset !== 0 && pixelOffset !== 0.5) return `the pixel offset ${String(pixelOffset)}`;
  return unsoundMetadata(metadata) ?? unsoundWords([...notes, ...(standIn === null ? [] : [standIn])]);
}

/** Likewise of metadata: the ranges that `FrameMetadata`'s makers promise. */
export function unsoundMetadata(metadata: FrameMetadata): string | null {
  const time = metadata.midExposure?.value.getTime();
  if (time !== undefined && !(time >= Date.UTC(1899, 11, 30) && time <= Date.UTC(2200, 0, 3))) return `the time ${time}`;
  const ranges = [
    ['exposureSeconds', 0, 86_400], ['pixelSizeMicrometres', 0.1, 64_000], ['binning', 1, 99], ['focalLengthMillimetres', 1, 100_000],
    ['latitudeDeg', -90, 90], ['longitudeDeg', -180, 180], ['elevationMetres', -450, 9000],
  ] as const;
  for (const [name, low, high] of ranges) {
    const value = metadata[name]?.value;
    if (value !== undefined && !(value >= low && value <= high)) return `${name} ${value}`;
  }
  const { pointing } = metadata;
  if (pointing) {
    if (!(pointing.raDeg >= 0 && pointing.raDeg <= 360
      && Math.abs(pointing.decDeg) <= 90)) return `pointing at ${pointing.raDeg}, ${pointing.decDeg}`;
    const { world } = pointing;
    if (world && ![world.x, world.y, ...world.matrix].every(Number.isFinite)) return `world coordinates ${JSON.stringify(world)}`;
  }
  return unsoundWords(metadata.remarks);
}

/** Words for a person that hold what is none: unsayable characters (a terminal obeys some), or the program's own nonsense. */
export function unsoundWords(sentences: readonly string[]): string | null {
  for (const sentence of sentences) {
    // Ends of lines are the program's own.
    if (/(?!\n)[\p{Cc}\p{Cf}\p{Cs}\p{Zl}\p{Zp}]/u.test(sentence)) return `control characters in ${JSON.stringify(sentence)}`;
    if (/undefined|\[object|^\s*at .*:\d+:\d+/m.test(sentence)) return `nonsense in ${JSON.stringify(sentence)}`;
    if (sentence.length > 2000) return `a sentence of ${sentence.length} characters`;
  }
  return null;
}

/** What is unsound in an error's message: it must be one or two sentences. */
export function unsoundMessage(message: string): string | null {
  if (!/^\S.*\S.*[.?!:)]$|poleward rig --init /s.test(message)) return `no sentence: ${JSON.stringify(message)}`;
  return unsoundWords([message]);
}

function isCount(value: number): boolean {
  return Number.isInteger(value) && value >= 1;
}
