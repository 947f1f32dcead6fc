import { byName } from '../../fileName.js';
import { writtenTimes } from '../../tasks/given/written.js';
import { type TimesGiven, saidTimes, timesOfFiles } from '../../tasks/recognise/timesGiven.js';
import type { Settings } from '../keep/settings.js';
import type { CameBy } from '../messages.js';

/** Files with the times that are not the frames' own, in their order; `used`: what the person wrote, which holds once. */
export interface TimedFiles {
  readonly files: readonly File[];
  readonly times: TimesGiven | null;
  /** Where the first of the files stands among the times. */
  readonly from: number;
  readonly used: boolean;
}

/** The times of files by what is set; those of a watched folder are held against the times of the files before. */
export class FileTimes {
  private readonly written = new Map<string, Date>();

  /**
   * For files given together times that the person wrote, in the order of the names. Throws PolewardError `bad-option` where there are
   * more or fewer.
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
