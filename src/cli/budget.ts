import type { Command } from 'commander';
import { ARCMINUTE } from '../geometry/angle.js';
import type { Given } from '../tasks/given/given.js';
import type { BudgetRequest } from '../tasks/budget/budgetPlan.js';
import { addCommonOptions, type CommonOptions, quantity } from './commonOptions.js';
import { type RunOptions, addRunOptions } from './runOptions.js';

/** Options of `poleward budget`, as commander gives them. */
interface BudgetOptions extends CommonOptions, RunOptions {
  readonly altitudeError?: number;
  readonly azimuthError?: number;
  readonly session?: string;
  readonly full?: boolean;
}

/** What the options that all commands share mean here. */
const HERE: Readonly<Record<string, string>> = {
  '--focal-length': 'of the telescope or lens that takes the exposures',
  '--pixel-size': 'of the stored pixels',
  '--aim': 'the pole that the errors are counted from',
  '--utc-offset': 'not used here: --start is UTC',
};

/** Exit code where the run is outside its limit. */
const OUTSIDE = 3;

/** Adds `poleward budget`. What it needs is loaded when it runs. */
export function addBudgetCommand(program: Command): void {
  const command = addCommonOptions(program.command('budget')
    .description('what an axis error does to a planned run, and what error that run allows'));
  for (const option of command.options) option.description = HERE[option.long ?? ''] ?? option.description;
  addRunOptions(command)
    .option(
      '--altitude-error <arcmin>', 'axis above the aimed pole; else the session\'s last', quantity('altitude error', -1800, 1800, 'arcmin'),
    )
    .option('--azimuth-error <arcmin>', 'axis east of it, the knob\'s angle; likewise', quantity('azimuth error', -1800, 1800, 'arcmin'))
    .option('--session <file>', 'whose last measurement counts; else the newest in this folder')
    .option('--full', 'all figures')
    .action(async (options: Partial<BudgetOptions> & CommonOptions) => {
      const { givenFor } = await import('./given.js');
      const given = givenFor(options, null);
      requireRun(command, options, given);
      const { budgetOf } = await import('../tasks/budget/budgetPlan.js');
      const { runOf, sessionForBudget } = await import('./budgetRequest.js');
      const { say, sayJson } = await import('./output.js');
      const error = axisErrorOf(options);
      const planned = budgetOf({
        ...runOf(options), given, error, session: sessionForBudget(options.session, error !== null),
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
      say(budgetText(planned, options.full ?? false), night);
      sayWarnings(planned.warnings, night);
    });
}

/** Names all that is missing at once. */
function requireRun(command: Command, options: Partial<BudgetOptions>, given: Given): asserts options is BudgetOptions {
  const placed = options.hourAngle !== undefined || (options.rightAscension !== undefined && options.start !== undefined);
  const missing = [
    ...(options.declination === undefined ? ['--declination'] : []),
    ...(placed ? [] : ['--hour-angle, or --right-ascension with --start']),
    ...(options.hours === undefined ? ['--hours'] : []),
    ...(options.exposure === undefined ? ['--exposure'] : []),
    ...(given.focalLengthMillimetres ? [] : ['--focal-length']),
    ...(given.pixelSizeMicrometres ? [] : ['--pixel-size']),
  ];
  if (options.declination !== undefined && options.hours !== undefined && options.exposure !== undefined) return;
  command.error(`error: these options are missing: ${missing.join('; ')}`, { code: 'commander.missingMandatoryOptionValue' });
}

/** The axis error that the options give, radians; null where they give none. */
function axisErrorOf({ altitudeError, azimuthError }: BudgetOptions): BudgetRequest['error'] {
  const angle = (arcmin: number | undefined): number | null => (arcmin === undefined ? null : arcmin * ARCMINUTE);
  if (altitudeError === undefined && azimuthError === undefined) return null;
  return { value: { altitude: angle(altitudeError), azimuth: angle(azimuthError) }, from: 'command line' };
}
