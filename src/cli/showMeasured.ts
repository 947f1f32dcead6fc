import type { MeasurementRecord } from '../night/record/entry.js';
import type { CommonOptions } from './commonOptions.js';
import type { Guidance } from '../tasks/measure/guidance.js';
import type { Measured } from '../tasks/measure/measureFrames.js';
import { wrap } from '../tasks/words/numberWords.js';
import { say, sayJson, warn } from './output.js';

/** Shows an answer: JSON, or text with its warnings. `said`: where the session went, if that needs saying. */
export async function showMeasured(
  measured: Measured, guidance: Guidance, record: MeasurementRecord, said: string | null, options: CommonOptions,
): Promise<void> {
  const night = options.night ?? false;
  if (options.json) {
    sayJson(record);
  } else {
    const { measurementText } = await import('../tasks/measure/measurementText.js');
    say(measurementText(measured, guidance), night);
    for (const { message } of measured.warnings) warn(wrap(`warning: ${message}`, 60, '  '), night);
  }
  if (said) warn(wrap(said, 60, '  '), night);
}
