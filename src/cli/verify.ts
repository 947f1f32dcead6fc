import { type Command, Option } from 'commander';
import { addCommonOptions, type CommonOptions, quantity } from './commonOptions.js';

/** Options of `poleward verify`, as commander gives them. */
export interface VerifyOptions extends CommonOptions {
  readonly guided?: boolean;
  readonly unguided?: boolean;
  readonly declination?: number;
  readonly hourAngle?: number;
  readonly rightAscension?: number;
  readonly positionAngle?: number;
  readonly mirrored?: boolean;
  readonly driveOff?: string[];
  readonly exposure?: number;
  readonly limit: number;
  readonly session?: string | false;
}

/** Exit code where the run is not ready. */
const OUTSIDE = 3;

/** Adds `poleward verify`. What it needs is loaded when it runs. */
export function addVerifyCommand(program: Command): void {
  const command = addCommonOptions(program.command('verify')
    .description('drift, field rotation and star shape in tracked frames of one field, and the axis error they imply')
    .argument('<frames...>', 'two or more frames of one field, anywhere in the sky'));
  for (const option of command.options) {
    if (option.long === '--focal-length') option.description = 'makes arcseconds of pixels';
  }
  command
    .addOption(new Option('--guided', 'a guider moved the mount: only field rotation tells of the axis').conflicts('unguided'))
    .option('--unguided', 'nothing moved the mount but its drive: the drift tells of the axis too')
    .option('--declination <degrees>', 'of the target; else from the frames', quantity('declination', -90, 90, 'degrees'))
    .option('--hour-angle <hours>', 'of the target at the first frame, west positive', quantity('hour angle', -24, 24, 'hours'))
    .option('--right-ascension <hours>', 'of the target, instead of its hour angle', quantity('right ascension', 0, 24, 'hours'))
    .option('--position-angle <degrees>', 'of the picture\'s upper edge, from north through east', quantity('position angle', -360, 360, 'degrees'))
    .option('--mirrored', 'with --position-angle: the picture shows the sky mirrored')
    .option('--drive-off <frames...>', 'two of one field with the drive off show which way is west (write it after the frames)')
    .option('--exposure <s>', 'of each frame; else from the frames', quantity('exposure', 0.001, 86400, 's'))
    .option('--limit <pixels>', 'trail that one exposure bears', quantity('limit', 0.01, 1000, 'pixels'), 1)
    .option('--session <file>', 'the measurement to compare with; else beside the frames')
    .option('--no-session', 'compare with none')
    .action(async (files: string[], given: VerifyOptions) => {
      const { withRig } = await import('../tasks/given/inForce.js');
      const { verifyFrames } = await import('../tasks/verify/verifyFrames.js');
      const { say, sayJson, warn } = await import('./output.js');
      const options = withRig(given, files[0] ?? null);
      const verified = await verifyFrames(files, options);
      const night = options.night ?? false;
      if (options.json) {
        const { verificationJson } = await import('../tasks/verify/verifyJson.js');
        sayJson(verificationJson(verified));
      } else {
        const { verificationText } = await import('../tasks/verify/verifyText.js');
        const { wrap } = await import('../tasks/words/numberWords.js');
        for (const { message } of verified.warnings) warn(wrap(message), night);
        say(verificationText(verified), night);
      }
      if (!verified.verdict.ready) process.exitCode = OUTSIDE;
    });
}
