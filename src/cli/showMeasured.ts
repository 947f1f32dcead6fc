import type { MeasurementRecord } from '../session/entry.js';
import type { CommonOptions } from './commonOptions.js';
import type { Guidance } from './guidance.js';
import type { Measured } from './measureFrames.js';
import { wrap } from './numberWords.js';
import { say, sayJson, warn } from './output.js';

/** Shows an answer: JSON, or text with its warnings. `said`: where the session went, if that needs saying. */
export async function showMeasured(
  measured: Measured, guidance: Guidance, record: MeasurementRecord, said: string | null, options: CommonOptions,
): Promise<void> {
  const night = options.night ?? false;
  if (options.json) {
    sayJson(record);
  } else {
    const { measurementText } = await import('./measurementText.js');
    say(measurementText(measured, guidance), night);
    for (const { message } of measured.warnings) warn(wrap(`warning: ${message}`, 60, '  '), night);
  }
  if (said) warn(wrap(said, 60, '  '), night);
}
