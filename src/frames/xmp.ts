import { type ClockMs, parseDateTime } from './dateText.js';

/** A time on the camera's clock; its zone where it is given, minutes east of UTC. */
export interface XmpReading {
  readonly clock: ClockMs;
  readonly offsetMinutes: number | null;
  readonly from: string;
}

export interface Xmp {
  readonly time: XmpReading | null;
  readonly exposureSeconds: number | null;
}

/** No camera writes longer packets. */
const MOST_BYTES = 2 ** 20;
/** Properties for the time of the exposure, the most reliable first; in a camera's own file they are the same. */
const TIMES = ['exif:DateTimeOriginal', 'photoshop:DateCreated', 'xmp:CreateDate', 'exif:DateTimeDigitized'];

/**
 * Time and exposure in a packet of XMP, whose properties stand as attributes or as elements; null where neither is there.
 * Source: XMP specification, part 1 (ISO 16684-1:2019), sections 7 and 8.2.1.1 (dates), and part 2 (2016), Exif schema.
 */
export function readXmp(packet: Uint8Array | null): Xmp | null {
  if (packet === null || packet.length > MOST_BYTES) return null;
  const text = new TextDecoder().decode(packet);
  let time: XmpReading | null = null;
  for (const name of TIMES) {
    const reading = parseDateTime(property(text, name) ?? '');
    if (!reading) continue;
    time = { ...reading, from: `XMP ${name.slice(name.indexOf(':') + 1)}` };
    break;
  }
  const exposureSeconds = fraction(property(text, 'exif:ExposureTime'));
  return time === null && exposureSeconds === null ? null : { time, exposureSeconds };
}

/** The value of a property by its usual prefix. */
function property(text: string, name: string): string | null {
  const at = new RegExp(`${name}(?:\\s*=\\s*["']([^"'<]{0,80})["']|>([^<]{0,80})</)`).exec(text);
  return at?.[1] ?? at?.[2] ?? null;
}

/** "30/1" or "0.5". */
function fraction(text: string | null): number | null {
  const [top = '', bottom = '1'] = text?.trim().split('/') ?? [];
  const value = top === '' ? NaN : Number(top) / Number(bottom);
  return Number.isFinite(value) && value > 0 ? value : null;
}
