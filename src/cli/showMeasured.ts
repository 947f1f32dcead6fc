import type { MeasurementRecord } from '../night/record/entry.js';
import type { Notice } from '../remedy.js';
import type { Guidance } from '../tasks/measure/guidance.js';
import type { Measured } from '../tasks/measure/measureFrames.js';
import { wrap } from '../tasks/words/numberWords.js';
import type { CommonOptions } from './commonOptions.js';
import { say, sayJson, warn } from './output.js';
import { remedyWords, worded } from './remedyWords.js';

/** Shows an answer: JSON, or text with its warnings. `said`: where the session went, if that needs saying. */
export async function showMeasured(
  measured: Measured, guidance: Guidance, record: MeasurementRecord, said: Notice | null, options: CommonOptions,
): Promise<void> {
  const night = options.night ?? false;
  if (options.json) {
    sayJson(wordedRecord(record));
  } else {
    const { measurementText } = await import('../tasks/measure/measurementText.js');
    say(measurementText(measured, guidance, remedyWords), night);
    sayWarnings(measured.warnings, night);
  }
  if (said) warn(wrap(worded(said), 60, '  '), night);
}

/** Warnings for a person, on stderr. */
export function sayWarnings(warnings: readonly Notice[], night: boolean): void {
  for (const warning of warnings) warn(wrap(`warning: ${worded(warning)}`, 60, '  '), night);
}

/** The JSON of an answer, its warnings with the options that help. */
export function wordedRecord<T extends { readonly warnings: readonly Notice[] }>(record: T): T {
  return { ...record, warnings: record.warnings.map((warning) => ({ ...warning, message: worded(warning) })) };
}
