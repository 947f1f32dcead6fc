import { byName } from '../../fileName.js';
import { writtenTimes } from '../../tasks/given/written.js';
import { type TimesGiven, saidTimes, timesOfFiles } from '../../tasks/recognise/timesGiven.js';
import type { Settings } from '../keep/settings.js';
import type { CameBy } from '../messages.js';

/** Files in the order of their times, which are not the frames' own. `used`: they are the typed ones, which hold once. */
export interface TimedFiles {
  readonly files: readonly File[];
  readonly times: TimesGiven | null;
  /** Where the first of the files stands among the times. */
  readonly from: number;
  readonly used: boolean;
}

/** Times for frames, typed or their files'. Files of a watched folder are compared with those before. */
export class FileTimes {
  private readonly written = new Map<string, Date>();

  /**
   * Typed times are for files given together, in the order of their names. Throws PolewardError `bad-option` where there are more or
   * fewer.
   */
  of(given: readonly File[], by: CameBy, { nextTimes, fileTimes }: Pick<Settings, 'nextTimes' | 'fileTimes'>): TimedFiles {
    if (by === 'picked' && nextTimes !== null) {
      const files = [...given].sort((a, b) => byName(a.name, b.name));
      const times = saidTimes(writtenTimes(nextTimes).map((value) => ({ value, from: 'typed' })), files.length);
      return { files, times, from: 0, used: true };
    }
    const plain = { files: given, times: null, from: 0, used: false };
    if (!fileTimes) return plain;
    const times = (files: readonly (readonly [string, Date])[]): TimesGiven =>
      timesOfFiles(files.map(([name]) => name), files.map(([, time]) => time));
    const now = given.map((file) => [file.name, new Date(file.lastModified)] as const);
    if (by === 'picked') return { ...plain, times: times(now) };
    for (const [name, time] of now) {
      this.written.delete(name);
      this.written.set(name, time);
    }
    return { ...plain, times: times([...this.written]), from: this.written.size - given.length };
  }
}
