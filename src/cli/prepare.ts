import { type Command, InvalidArgumentError } from 'commander';
import { parseDay } from '../frames/dateText.js';
import type { PrepareRequest } from '../tasks/prepare/prepareSheet.js';
import { addCommonOptions, type CommonOptions, quantity } from './commonOptions.js';
import { pictureSize } from './pictureSize.js';

/** Options of `poleward prepare`, as commander gives them. */
interface PrepareOptions extends CommonOptions {
  /** Midnight UTC of the calendar day. */
  readonly date?: number;
  /** Minutes of the day, on the clock that the sheet shows. */
  readonly at?: readonly number[];
  readonly aperture?: number;
  readonly sensor?: { readonly width: number; readonly height: number };
  readonly exposure?: number;
  readonly fwhm?: number;
  readonly skyBrightness?: number;
  readonly readNoise?: number;
  readonly precision?: number;
  readonly payload?: number;
  readonly capacity?: number;
  readonly full?: boolean;
}

/** What the options that all commands share mean here. */
const HERE: Readonly<Record<string, string>> = {
  '--focal-length': 'of the telescope or lens that takes the frames',
  '--pixel-size': 'of the stored pixels',
  '--utc-offset': 'of the clock that the sheet shows; else UTC',
};

/** Adds `poleward prepare`. What it needs is loaded when it runs. */
export function addPrepareCommand(program: Command): void {
  const command = addCommonOptions(program.command('prepare')
    .description('one sheet for tonight, to read before dark: settings, bearings, exposure, rotation, cautions'));
  for (const option of command.options) option.description = HERE[option.long ?? ''] ?? option.description;
  command
    .option('--full', 'also where the pole star is, the order of setting up, the cautions')
    .option('--date <YYYY-MM-DD>', 'of the evening (default: tonight)', day)
    .option('--at <HH:MM,…>', 'when the pole star is wanted (default: from dark on, every hour)', clockTimes)
    .option('--aperture <mm>', 'of the telescope or lens', quantity('aperture', 1, 5000, 'mm'))
    .option('--sensor <WxH>', 'size of the frames, pixels', pictureSize)
    .option('--exposure <s>', 'forecast this one instead of suggesting one', quantity('exposure', 0.001, 600, 's'))
    .option('--fwhm <pixels>', 'of the stars (default: 3″ of air and 2 px of optics)', quantity('width of the stars', 0.8, 50, 'pixels'))
    .option(
      '--sky-brightness <mag>', 'of a square arcsecond: 21.5 dark, 20 suburb, 18 city (default: 20)',
      quantity('sky brightness', 15, 23, 'magnitudes'),
    )
    .option('--read-noise <electrons>', 'of a pixel (default: 3)', quantity('read noise', 0, 100, 'electrons'))
    .option('--precision <arcsec>', 'how sure the axis should be, one sigma (default: 6)', quantity('precision', 0.05, 3600, 'arcseconds'))
    .option('--payload <kg>', 'on the mount, counterweights not counted', quantity('payload', 0.01, 2000, 'kg'))
    .option('--capacity <kg>', 'what the mount is rated for', quantity('capacity', 0.1, 2000, 'kg'))
    .action(async (options: PrepareOptions) => {
      const { prepareSheet } = await import('../tasks/prepare/prepareSheet.js');
      const { embeddedCatalogue } = await import('../node/embeddedCatalogue.js');
      const { say, sayJson, warn } = await import('./output.js');
      const { remedyWords } = await import('./remedyWords.js');
      const sheet = prepareSheet(await requestOf(options), new Date(), embeddedCatalogue);
      if (options.json) {
        const { preparationJson } = await import('../tasks/prepare/prepareJson.js');
        sayJson(preparationJson(sheet, remedyWords));
        return;
      }
      const { preparationText, preparationWarningsText } = await import('../tasks/prepare/prepareText.js');
      const night = options.night ?? false;
      // Whoever gives times wants the table for them.
      const full = (options.full ?? false) || options.at !== undefined;
      const rest = full ? '' : '\ncautions, the order of setting up and the pole star: --full';
      say(`${preparationText(sheet, remedyWords, full)}${rest}`, night);
      const warnings = preparationWarningsText(sheet);
      if (warnings !== '') warn(warnings, night);
    });
}

async function requestOf(options: PrepareOptions): Promise<PrepareRequest> {
  const { givenFor, sourced } = await import('./given.js');
  const { ARCSECOND } = await import('../geometry/angle.js');
  return {
    given: givenFor(options, null),
    date: options.date ?? null,
    at: options.at ?? null,
    camera: {
      apertureMillimetres: sourced(options.aperture, '--aperture'),
      widthPixels: sourced(options.sensor?.width, '--sensor'),
      heightPixels: sourced(options.sensor?.height, '--sensor'),
      fwhmPixels: sourced(options.fwhm, '--fwhm'),
      skyMagnitude: sourced(options.skyBrightness, '--sky-brightness'),
      readNoiseElectrons: sourced(options.readNoise, '--read-noise'),
    },
    exposureSeconds: options.exposure ?? null,
    precision: options.precision === undefined ? null : options.precision * ARCSECOND,
    payloadKilograms: options.payload ?? null,
    capacityKilograms: options.capacity ?? null,
  };
}

function day(text: string): number {
  const value = parseDay(text.trim());
  if (value === null || !/^\d{4}-/.test(text.trim())) throw new InvalidArgumentError(`"${text}" is not a date. Write it like 2026-11-25.`);
  return value;
}

function clockTimes(text: string): number[] {
  return text.split(',').map((part) => {
    const match = /^([01]?\d|2[0-3]):([0-5]\d)$/.exec(part.trim());
    if (!match) throw new InvalidArgumentError(`"${part.trim()}" is not a time of day. Write them like 20:30,22:00.`);
    return Number(match[1]) * 60 + Number(match[2]);
  });
}
