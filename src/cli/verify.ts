import { type Command, Option } from 'commander';
import type { SessionAxis } from '../tasks/verify/sessionAxis.js';
import type { VerifyRequest } from '../tasks/verify/verifyRequest.js';
import { addCommonOptions, type CommonOptions, quantity } from './commonOptions.js';
import { type TimeOptions, addTimeOptions, timesFor } from './timeOptions.js';

/** Options of `poleward verify`, as commander gives them. */
interface VerifyOptions extends CommonOptions, TimeOptions {
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
  readonly full?: boolean;
}

/** Exit code where the run is not ready. */
const OUTSIDE = 3;

/** Adds `poleward verify`. What it needs is loaded when it runs. */
export function addVerifyCommand(program: Command): void {
  const command = addTimeOptions(addCommonOptions(program.command('verify')
    .description('drift, field rotation and star shape in tracked frames of one field, and the axis error they imply')
    .argument('<frames...>', 'two or more frames of one field anywhere in the sky, or their folder')));
  for (const option of command.options) {
    if (option.long === '--focal-length') option.description = 'with the pixel size: gives results in arcseconds';
  }
  command
    .addOption(new Option('--guided', 'a guider moved the mount: only field rotation shows the axis error').conflicts('unguided'))
    .option('--unguided', 'only the drive moved the mount: the drift shows the axis error too')
    .option('--declination <degrees>', 'of the target; else from the frames', quantity('declination', -90, 90, 'degrees'))
    .option('--hour-angle <hours>', 'of the target at the first frame, west positive', quantity('hour angle', -24, 24, 'hours'))
    .option('--right-ascension <hours>', 'of the target, instead of its hour angle', quantity('right ascension', 0, 24, 'hours'))
    .option(
      '--position-angle <degrees>', 'of the picture\'s upper edge, from north through east',
      quantity('position angle', -360, 360, 'degrees'),
    )
    .option('--mirrored', 'with --position-angle: the picture shows the sky mirrored')
    .option('--drive-off <frames...>', 'two frames of one field with the drive off, to find west (write this option after the frames)')
    .option('--exposure <s>', 'of each frame; else from the frames', quantity('exposure', 0.001, 86400, 's'))
    .option('--limit <pixels>', 'longest trail allowed in one exposure', quantity('limit', 0.01, 1000, 'pixels'), 1)
    .option('--session <file>', 'the session to compare with; else the one beside the frames')
    .option('--no-session', 'compare with no session')
    .option('--full', 'all figures: causes of the drift, the stars by regions, each frame')
    .action(async (named: string[], options: VerifyOptions) => {
      const { checkRequest } = await import('../tasks/verify/verifyRequest.js');
      const { framesIn } = await import('../node/framesIn.js');
      const files = framesIn(named);
      const request = await requestOf(files, options);
      checkRequest(request);
      const { shapedFiles } = await import('../node/shapedFiles.js');
      const { verifyFrames } = await import('../tasks/verify/verifyFrames.js');
      const { embeddedCatalogue } = await import('../node/embeddedCatalogue.js');
      const { progress } = await import('./progress.js');
      const { say, sayJson } = await import('./output.js');
      const { remedyWords } = await import('./remedyWords.js');
      const { clockZone } = await import('../tasks/given/given.js');
      const { timed } = await import('../tasks/recognise/timesGiven.js');
      const { withRests } = await import('../node/breathe.js');
      const times = await timesFor(options, files);
      const zone = clockZone(request.given);
      const driveOff = options.driveOff ? await shapedFiles(framesIn(options.driveOff), zone, progress) : null;
      const shaped = (await shapedFiles(files, zone, progress)).map((frame, i) => timed(frame, times, i));
      const verified = await verifyFrames(shaped, driveOff, request, embeddedCatalogue, withRests);
      const night = options.night ?? false;
      if (options.json) {
        const { verificationJson } = await import('../tasks/verify/verifyJson.js');
        sayJson(verificationJson(verified, remedyWords));
      } else {
        const { verificationText } = await import('../tasks/verify/verifyText.js');
        const { sayWarnings } = await import('./showMeasured.js');
        say(verificationText(verified, remedyWords, options.full ?? false), night);
        sayWarnings(verified.warnings, night);
      }
      if (!verified.verdict.ready) process.exitCode = OUTSIDE;
    });
}

async function requestOf(files: readonly string[], options: VerifyOptions): Promise<VerifyRequest> {
  const { givenFor, sourced } = await import('./given.js');
  return {
    given: givenFor(options, files[0] ?? null),
    guiding: options.guided ? 'guided' : options.unguided ? 'unguided' : 'unknown',
    declinationDeg: sourced(options.declination, '--declination') ?? null,
    hourAngleHours: sourced(options.hourAngle, '--hour-angle') ?? null,
    rightAscensionHours: sourced(options.rightAscension, '--right-ascension') ?? null,
    positionAngleDeg: sourced(options.positionAngle, '--position-angle') ?? null,
    mirrored: options.mirrored ?? false,
    exposureSeconds: sourced(options.exposure, '--exposure') ?? null,
    limitPixels: options.limit,
    session: options.session === false ? null : await axisToCompare(options.session, files[0]!),
  };
}

/** The last axis of the session named, or of the one beside a frame if there is any. */
async function axisToCompare(named: string | undefined, near: string): Promise<SessionAxis | null> {
  const { findSession } = await import('../node/sessionPlace.js');
  const { readSession } = await import('../node/sessionFile.js');
  const { sessionAxis } = await import('../tasks/verify/sessionAxis.js');
  const { folderOf } = await import('../node/nightRecord.js');
  const place = findSession({ session: named, folder: folderOf([near]) });
  const session = place && readSession(place.path);
  return session && sessionAxis(session);
}
