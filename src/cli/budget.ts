import { type Command, InvalidArgumentError, Option } from 'commander';
import { parseDegrees } from '../frames/sexagesimal.js';
import { ARCMINUTE } from '../geometry/angle.js';
import type { BudgetRequest } from '../tasks/budget/budgetPlan.js';
import { addCommonOptions, angle, type CommonOptions, quantity } from './commonOptions.js';
import { pictureSize } from './pictureSize.js';
import { utcTime } from './utcTime.js';

/** Options of `poleward budget`, as commander gives them. */
export interface BudgetOptions extends CommonOptions {
  readonly altitudeError?: number;
  readonly azimuthError?: number;
  readonly session?: string;
  readonly declination: number;
  readonly hourAngle?: number;
  readonly rightAscension?: number;
  readonly start?: Date;
  readonly hours: number;
  readonly exposure: number;
  readonly sensor?: { readonly width: number; readonly height: number };
  readonly guideOffset?: number;
  readonly guided?: boolean;
  readonly limit?: number;
  readonly refraction: boolean;
}

/** What the options that all commands share mean here. */
const HERE: Readonly<Record<string, string>> = {
  '--focal-length': 'of the telescope or lens that takes the exposures',
  '--pixel-size': 'of the stored pixels',
  '--aim': 'the pole that the errors are counted from',
  '--utc-offset': 'not used here: --start is UTC',
};

/** Exit of a run that is outside its limit. */
const OUTSIDE = 3;

/** Adds `poleward budget`. What it needs is loaded when it runs. */
export function addBudgetCommand(program: Command): void {
  const command = addCommonOptions(program.command('budget')
    .description('what an axis error does to a planned run, and what error that run allows'));
  for (const option of command.options) option.description = HERE[option.long ?? ''] ?? option.description;
  addRunOptions(command, true)
    .option(
      '--altitude-error <arcmin>', 'axis above the aimed pole; else the session\'s last', quantity('altitude error', -1800, 1800, 'arcmin'),
    )
    .option('--azimuth-error <arcmin>', 'axis east of it, the knob\'s angle; likewise', quantity('azimuth error', -1800, 1800, 'arcmin'))
    .option('--session <file>', 'whose last measurement counts; else the newest in this folder')
    .action(async (options: BudgetOptions) => {
      const { givenFor } = await import('./given.js');
      const { budgetOf } = await import('../tasks/budget/budgetPlan.js');
      const { runOf, sessionForBudget } = await import('./budgetRequest.js');
      const { say, sayJson } = await import('./output.js');
      const error = axisErrorOf(options);
      const planned = budgetOf({
        ...runOf(options), given: givenFor(options, null), error, session: sessionForBudget(options.session, error !== null),
      });
      if (!planned.budget.withinLimit) process.exitCode = OUTSIDE;
      const { budgetJson } = await import('../tasks/budget/budgetJson.js');
      if (options.json) {
        sayJson(budgetJson(planned));
        return;
      }
      const { budgetText } = await import('../tasks/budget/budgetText.js');
      const { sayWarnings } = await import('./showMeasured.js');
      const night = options.night ?? false;
      say(budgetText(planned), night);
      sayWarnings(planned.warnings, night);
    });
}

/** The axis error that the options give, radians; null where they give none. */
function axisErrorOf({ altitudeError, azimuthError }: BudgetOptions): BudgetRequest['error'] {
  const angle = (arcmin: number | undefined): number | null => (arcmin === undefined ? null : arcmin * ARCMINUTE);
  if (altitudeError === undefined && azimuthError === undefined) return null;
  return { value: { altitude: angle(altitudeError), azimuth: angle(azimuthError) }, from: 'command line' };
}

/** The options that say what run is planned. */
export function addRunOptions(command: Command, required: boolean): Command {
  return command
    .addOption(new Option('--declination <degrees>', 'of the target, north positive').argParser(angle(
      'declination', 90,
    )).makeOptionMandatory(required))
    .option('--hour-angle <h>', 'of the target at the start, west positive: -2.5, "-2 30"', hours('hour angle', -24, 24))
    .option('--right-ascension <h>', 'of the target (J2000), with --start instead of the hour angle', hours('right ascension', 0, 24))
    .option('--start <UTC>', 'when the run begins', utcTime)
    .addOption(new Option('--hours <h>', 'how long the run is').argParser(quantity(
      'length of the run', 0.001, 24, 'hours',
    )).makeOptionMandatory(required))
    .addOption(new Option('--exposure <s>', 'of each frame').argParser(quantity('exposure', 0.001, 86400, 's')).makeOptionMandatory(
      required,
    ))
    .option('--sensor <WxH>', 'size of the frames, pixels', pictureSize)
    .option('--guided', 'a guide star in the middle of the field is kept in its place')
    .option('--guide-offset <degrees>', 'guided, by a star this far from the middle', quantity('guide star\'s offset', 0, 60, 'degrees'))
    .option('--limit <pixels>', 'longest trail in one exposure (default: 1)', quantity('limit', 0.001, 1000, 'pixels'))
    .option('--no-refraction', 'leave out the air');
}

/** Hours as a number or as hours, minutes, seconds. */
function hours(name: string, least: number, most: number): (text: string) => number {
  return (text) => {
    const value = parseDegrees(/^[+-]?[\d.]+$/.test(text.trim()) ? Number(text) : text);
    if (Number.isFinite(value) && value >= least && value <= most) return value;
    throw new InvalidArgumentError(
      `The ${name} "${text}" is no time from ${least} to ${most} hours. Write hours, such as 2.5 or "2 30 00".`,
    );
  };
}
