import type { FrameStars } from '../recognise/frameStars.js';
import { wrap } from './numberWords.js';

/** The UTC at which the frames were taken, and its source; empty without frames. */
export function timeText(frames: readonly Pick<FrameStars, 'metadata'>[], width: number): string {
  const times = frames.flatMap(({ metadata }) => (metadata.midExposure ? [metadata.midExposure] : []));
  const [first, last] = [times[0], times.at(-1)];
  if (!first || !last) return '';
  const clock = (time: Date): string => time.toISOString().slice(11, 19);
  const until = times.length > 1 ? ` to ${clock(last.value)}` : '';
  const from = [...new Set(times.map((t) => t.from))].join('; ');
  return wrap(`time ${first.value.toISOString().slice(0, 10)} ${clock(first.value)}${until} UTC, mid-exposure (${from})`, width, '  ');
}
