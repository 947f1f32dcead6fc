import { type Command, Option } from 'commander';
import type { TimesGiven } from '../tasks/recognise/timesGiven.js';
import { writtenTimes } from '../tasks/given/written.js';
import { option } from './commonOptions.js';

/** `--time`, `--file-times` as commander gives them. */
export interface TimeOptions {
  readonly time?: readonly Date[];
  readonly fileTimes?: boolean;
}

export function addTimeOptions(command: Command): Command {
  return command
    .addOption(new Option('--time <UTC,…>', 'when each exposure began, in the order of the frames: 2026-11-25T20:00:00,…')
      .argParser(option(writtenTimes)).conflicts('fileTimes'))
    .addOption(fileTimesOption());
}

/** `--file-times` */
export function fileTimesOption(): Option {
  return new Option('--file-times', 'for frames without a time: the exposure ended when their file was written');
}

/** The times that the options give for frames; null where they give none. Throws PolewardError `bad-option` for too few or too many. */
export async function timesFor({ time, fileTimes }: TimeOptions, files: readonly string[]): Promise<TimesGiven | null> {
  if (time === undefined && !fileTimes) return null;
  const { saidTimes, timesOfFiles } = await import('../tasks/recognise/timesGiven.js');
  if (time !== undefined) return saidTimes(time.map((value) => ({ value, from: '--time' })), files.length);
  const { fileTimesOf } = await import('../node/fileTimes.js');
  return timesOfFiles(files, fileTimesOf(files));
}
