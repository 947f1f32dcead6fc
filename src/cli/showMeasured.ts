import type { NextStep } from '../night/said.js';
import type { Notice } from '../remedy.js';
import { type TextStyle, measurementText } from '../tasks/measure/measurementText.js';
import { wrap } from '../tasks/words/numberWords.js';
import type { AnswerOptions, Answered } from './answerFrames.js';
import { say, sayJson, textWidth, warn } from './output.js';
import { remedyWords, worded } from './remedyWords.js';

/** Exit code: done, but outside the limit that was asked for. */
export const OUTSIDE = 3;

/** Shows an answer: JSON, or text with its warnings. */
export async function showMeasured({ measured, guidance, said, record, marks, notice }: Answered, options: AnswerOptions): Promise<void> {
  const night = options.night ?? false;
  if (options.json) {
    sayJson({ ...wordedRecord(record), ...(notice ? { recorded: worded(notice) } : {}) });
  } else {
    say(measurementText(measured, guidance, said, styleOf(options, options.session === false ? () => '' : commandAfter)), night);
    sayWarnings(measured.warnings, night);
  }
  if (notice) warn(wrap(worded(notice), textWidth(), '  '), night);
  if (options.limit !== undefined && said.within === false) process.exitCode = OUTSIDE;
  if (options.picture === undefined) return;
  const { showPicture } = await import('./pictureFile.js');
  await showPicture(measured, marks, options);
}

export function styleOf({ full }: Pick<AnswerOptions, 'full'>, command: TextStyle['command']): TextStyle {
  return { width: textWidth(), remedies: remedyWords, command, full: full ?? false };
}

/** The command to give for the next step. */
function commandAfter({ action }: NextStep): string {
  return action === 'done' ? '' : 'poleward recheck NEW-FRAME';
}

/** Warnings for a person, on stderr. */
export function sayWarnings(warnings: readonly Notice[], night: boolean): void {
  for (const warning of warnings) warn(wrap(`warning: ${worded(warning)}`, textWidth(), '  '), night);
}

/** The JSON of an answer, its warnings with the options that help. */
export function wordedRecord<T extends { readonly warnings: readonly Notice[] }>(record: T): T {
  return { ...record, warnings: record.warnings.map((warning) => ({ ...warning, message: worded(warning) })) };
}
