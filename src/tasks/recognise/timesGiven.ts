import { PolewardError } from '../../error.js';
import { apartWords, clockWords } from '../../frames/clockDoubts.js';
import type { FrameMetadata, Sourced } from '../../frames/frame.js';
import type { Warning } from '../../axis/warning.js';
import type { FrameResult, FrameStars, FrameTrouble, StarsComing } from './frameStars.js';

/** Times for frames from outside the frames, in the order of the frames. */
export type TimesGiven =
  /** By the person: the start of each exposure, UTC. They are used before the file's. */
  | { readonly kind: 'said'; readonly times: readonly Sourced<Date>[] }
  /** When the files were last written: the end of each exposure, for frames that say nothing. `trouble`: why they can't be trusted. */
  | { readonly kind: 'files'; readonly times: readonly Sourced<Date>[]; readonly trouble: string | null };

/** Files written closer together than this were copied, not exposed, milliseconds. */
const COPIED_MS = 1000;
/** A difference from the file's own time that is reported. */
const DIFFERS_MS = 60_000;

/** One time for each frame. Throws PolewardError `bad-option` where there are more or fewer. */
export function saidTimes(times: readonly Sourced<Date>[], frames: number): TimesGiven {
  if (times.length !== frames) {
    throw new PolewardError('bad-option', `${times.length === 1 ? 'One time was' : `${times.length} times were`} given for ${frames} `
      + `frame${frames === 1 ? '' : 's'}. Give one for each, in the order of the frames.`);
  }
  return { kind: 'said', times };
}

/** The files' own times, compared with each other and with the order of the names. */
export function timesOfFiles(files: readonly string[], times: readonly Date[]): TimesGiven {
  return { kind: 'files', times: times.map((value) => ({ value, from: 'the file\'s own time' })), trouble: distrusted(files, times) };
}

/** The result of the frame at an index of the list with the time that was given for it. */
export function timed<T extends FrameStars>(result: T | FrameTrouble, given: TimesGiven | null, index: number): T | FrameTrouble {
  const time = given?.times[index];
  if (!given || !time || !('stars' in result)) return result;
  if (given.kind === 'said') return withTime(result, time, 0.5);
  if (result.metadata.midExposure) return result;
  if (given.trouble === null) return withTime(result, time, -0.5);
  const { file } = result;
  return { file, code: 'no-time', message: `${file}: ${given.trouble}`, shared: given.trouble, remedies: ['say-time'] };
}

/** Frames still being read, each with the time that was given for it. */
export function timedAll(coming: StarsComing, given: TimesGiven | null): StarsComing {
  if (given === null) return coming;
  return {
    async each(arrived) {
      let next = 0;
      const done: FrameResult[] = [];
      await coming.each((result) => {
        const one = timed(result, given, next++);
        done.push(one);
        arrived(one);
      });
      return done;
    },
  };
}

/** What is to be said of times from outside the frames; nothing where there are none. */
export function timeWarnings(frames: readonly FrameStars[]): Warning[] {
  const files = frames.filter(({ timeGiven }) => timeGiven?.byFile);
  const other = frames.find(({ timeGiven }) => timeGiven?.own);
  return [
    ...(files.length === 0 ? [] : [{
      code: 'clock-suspect' as const,
      message: `The time is that of the files (${files.length === 1 ? files[0]!.file : `${files.length} frames`}), taken as the end of the `
        + `exposure: right only if nothing has written or copied them since. A minute turns the direction of the answer by 0.25°.`,
    }]),
    ...(other ? [{
      code: 'clock-suspect' as const,
      message: `${other.file} says ${clockWords(ownTime(other))} UTC in the middle of the exposure `
        + `(${other.timeGiven!.own!.from}), ${apartWords(ownTime(other) - other.metadata.midExposure!.value.getTime())} from `
        + `the time given. The time given counts. An hour turns the direction of the answer by 15°.`,
    }] : []),
  ];
}

function ownTime({ timeGiven }: FrameStars): number {
  return timeGiven!.own!.value.getTime();
}

function withTime<T extends FrameStars>(result: T, { value, from }: Sourced<Date>, part: 0.5 | -0.5): T {
  const { metadata } = result;
  const seconds = metadata.exposureSeconds?.value ?? null;
  const middle = new Date(value.getTime() + part * (seconds ?? 0) * 1000);
  const rest: { -readonly [Name in keyof FrameMetadata]: FrameMetadata[Name] } = { ...metadata };
  // They are about the clock that is not used.
  for (const about of ['unzonedClock', 'utcOffsetMinutes', 'overruledZoneMinutes', 'clockDoubts'] as const) delete rest[about];
  const remark = seconds === null ? [`The exposure is unknown, so ${from} is taken as its middle.`] : [];
  const own = metadata.midExposure;
  const differs = own !== null && Math.abs(own.value.getTime() - middle.getTime()) > DIFFERS_MS;
  const about: FrameMetadata = {
    ...rest,
    midExposure: { value: middle, from: `${from}${seconds === null ? '' : part > 0 ? ' + half the exposure' : ' - half the exposure'}` },
    remarks: [...metadata.remarks, ...remark],
  };
  return { ...result, metadata: about, timeGiven: { byFile: part < 0, own: differs ? own : null } };
}

/** Why the files' times can't be those of the exposures; null where they can. */
function distrusted(files: readonly string[], times: readonly Date[]): string | null {
  const listed = files.map((file, i) => ({ file, time: times[i]!.getTime() }));
  const inTime = [...listed].sort((a, b) => a.time - b.time);
  const alike = inTime.find((f, i) => i > 0 && f.file !== inTime[i - 1]!.file && f.time - inTime[i - 1]!.time < COPIED_MS);
  if (alike) return 'the files were written at the same moment, as copying does, so their times are not those of the exposures. Give the '
    + 'times, or the files as the camera saved them.';
  const named = [...listed].sort((a, b) => a.file.localeCompare(b.file, 'en', { numeric: true }));
  const backward = named.findIndex((f, i) => i > 0 && f.time < named[i - 1]!.time && folder(f.file) === folder(named[i - 1]!.file));
  if (backward < 0) return null;
  return `the file times run against the names (${named[backward]!.file} was written before ${named[backward - 1]!.file}), so they are not `
    + `those of the exposures. Give the times, or the files as the camera saved them.`;
}

function folder(file: string): string {
  return file.replace(/[^/\\]*$/, '');
}
