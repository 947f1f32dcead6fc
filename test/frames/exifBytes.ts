/** An EXIF value: text, one rational or several as [numerator, denominator], a signed one, or a byte. */
export type ExifValue = string | readonly (readonly [number, number])[] | { readonly signed: readonly [number,
  number] } | { readonly byte: number };
type Tags = Readonly<Record<number, ExifValue>>;

/** EXIF bytes (a little-endian TIFF structure, Exif 2.32 section 4.6) with these tags of the photo and of the GPS directory. */
export function exifBytes(photo: Tags, gps: Tags = {}): Buffer {
  const pointers = [0x8769, 0x8825];
  const first = 8;
  const size = (count: number) => 2 + 12 * count + 4;
  const photoAt = first + size(pointers.length);
  const photoBytes = directory(photo, photoAt);
  const gpsAt = photoAt + photoBytes.length;
  const ifd0 = Buffer.alloc(size(pointers.length));
  ifd0.writeUInt16LE(pointers.length, 0);
  pointers.forEach((tag, i) => entry(ifd0, i, tag, 4, 1).writeUInt32LE([photoAt, gpsAt][i] as number, 2 + 12 * i + 8));
  const head = Buffer.from('II*\0\x08\0\0\0', 'latin1');
  return Buffer.concat([head, ifd0, photoBytes, directory(gps, gpsAt)]);
}

function directory(tags: Tags, at: number): Buffer {
  const entries = Object.entries(tags);
  const table = Buffer.alloc(2 + 12 * entries.length + 4);
  table.writeUInt16LE(entries.length, 0);
  let values = Buffer.alloc(0);
  entries.forEach(([tag, value], i) => {
    const [type, count, bytes] = encode(value);
    entry(table, i, Number(tag), type, count);
    if (bytes.length <= 4) {
      bytes.copy(table, 2 + 12 * i + 8);
    } else {
      table.writeUInt32LE(at + table.length + values.length, 2 + 12 * i + 8);
      values = Buffer.concat([values, bytes]);
    }
  });
  return Buffer.concat([table, values]);
}

function entry(table: Buffer, i: number, tag: number, type: number, count: number): Buffer {
  table.writeUInt16LE(tag, 2 + 12 * i);
  table.writeUInt16LE(type, 2 + 12 * i + 2);
  table.writeUInt32LE(count, 2 + 12 * i + 4);
  return table;
}

function encode(value: ExifValue): [type: number, count: number, bytes: Buffer] {
  if (typeof value === 'string') return [2, value.length + 1, Buffer.from(`${value}\0`, 'latin1')];
  if ('byte' in value) return [1, 1, Buffer.of(value.byte)];
  if ('signed' in value) {
    const bytes = Buffer.alloc(8);
    value.signed.forEach((number, i) => bytes.writeInt32LE(number, 4 * i));
    return [10, 1, bytes];
  }
  const bytes = Buffer.alloc(8 * value.length);
  value.forEach(([top, bottom], i) => bytes.writeUInt32LE(bottom, bytes.writeUInt32LE(top, 8 * i)));
  return [5, value.length, bytes];
}
