import { type Command, InvalidArgumentError, Option } from 'commander';
import type { SimulateRequest } from '../tasks/simulate/simulation.js';
import { writtenTime } from '../tasks/given/written.js';
import { angle, option } from './commonOptions.js';
import { pictureSize } from './pictureSize.js';

/** Options of `poleward simulate`, as commander gives them. */
interface SimulateOptions {
  readonly out?: string;
  readonly play?: boolean;
  readonly latitude: number;
  readonly longitude: number;
  readonly elevation?: number;
  readonly pressure?: number;
  readonly temperature?: number;
  readonly time: Date;
  readonly focalLength: number;
  readonly aperture?: number;
  readonly pixelSize: number;
  readonly size: { readonly width: number; readonly height: number };
  readonly exposure: number;
  readonly interval: number;
  readonly altitudeError: number;
  readonly azimuthError: number;
  readonly rotations: readonly number[];
  readonly tracking?: boolean;
  /** A field anywhere that the mount tracks, instead of frames near the pole. */
  readonly target?: { readonly declinationDeg: number; readonly hourAngleHours: number };
  /** Where the camera looks at rotation 0. */
  readonly toward?: { readonly declinationDeg: number; readonly hourAngleHours: number };
  readonly frames: number;
  readonly guided?: boolean;
  readonly periodicError: number;
  readonly rateError: number;
  readonly jitter: number;
  readonly mirrored?: boolean;
  readonly roll: number;
  readonly pointing: number;
  readonly fwhm: number;
  readonly skyBrightness: number;
  readonly cloud?: number;
  readonly trees?: number;
  readonly satellite?: boolean;
  readonly moon?: boolean;
  readonly seed: string;
  readonly overwrite?: boolean;
  readonly night?: boolean;
  readonly json?: boolean;
}

/** Adds `poleward simulate`. What it needs is loaded when it runs. */
export function addSimulateCommand(program: Command): void {
  program.command('simulate')
    .description('practice frames with an error you choose; --play: a practice night, knob by knob')
    .option('--out <folder>', 'where the frames and truth.json go; made if it does not exist')
    .addOption(new Option('--play', 'a practice night at this terminal instead, knob by knob: the error is hidden').conflicts('out'))
    .option('--latitude <degrees>', 'of the site, north positive', angle('latitude', 90), 45)
    .option('--longitude <degrees>', 'of the site, east positive', angle('longitude', 360), 10)
    .option('--elevation <m>', 'of the site above the sea', number('elevation', -500, 9000))
    .option('--pressure <hPa>', 'of the air; else that of the elevation', number('pressure', 0, 1100))
    .option('--temperature <°C>', 'of the air; else that of the elevation', number('temperature', -80, 60))
    .addOption(new Option('--time <UTC>', 'start of the first exposure; later, for a frame after a knob was turned')
      .argParser(option(writtenTime)).default(new Date('2026-11-25T20:00:00Z'), '2026-11-25T20:00:00'))
    .option('--altitude-error <arcmin>', 'axis above the true pole', number('altitude error', -1800, 1800), 12)
    .option('--azimuth-error <arcmin>', 'axis east of it, the knob\'s angle', number('azimuth error', -1800, 1800), -20)
    .addOption(new Option('--rotations <degrees,…>', 'turn in right ascension of each frame, west positive')
      .argParser(rotations).default([0, 35, 70], '0,35,70'))
    .option('--tracking', 'the mount follows the stars')
    .option('--target <declination,hour-angle>', 'a field anywhere, degrees and hours, that the mount tracks: for verify', target)
    .addOption(new Option('--toward <declination,hour-angle>', 'where the camera looks at rotation 0, not near the pole: for measure')
      .argParser(target).conflicts('target'))
    .option('--frames <number>', 'of the target', number('number of frames', 1, 99), 6)
    .option('--guided', 'a guider keeps a star of the target\'s field in its place')
    .option('--periodic-error <arcsec>', 'amplitude, of the gear while tracking a target', number('periodic error', 0, 600), 0)
    .option('--rate-error <arcsec>', 'how much the drive gains in a minute on a target', number('rate error', -900, 900), 0)
    .option('--jitter <arcsec>', 'random shifts of the target\'s field, one sigma', number('jitter', 0, 600), 0)
    .option('--exposure <s>', 'of each frame', number('exposure', 0.001, 600), 4)
    .option('--interval <s>', 'from start to start', number('interval', 0, 86400), 45)
    .option('--focal-length <mm>', 'of the telescope or lens', number('focal length', 4, 5000), 180)
    .option('--aperture <mm>', 'else a sixth of the focal length', number('aperture', 1, 1000))
    .option('--pixel-size <µm>', 'of the camera', number('pixel size', 0.5, 100), 4.8)
    .addOption(new Option('--size <WxH>', 'pixels').argParser(pictureSize).default({ width: 800, height: 600 }, '800x600'))
    .option('--mirrored', 'an odd number of mirrors')
    .option('--roll <degrees>', 'of the camera in its holder', number('roll', -360, 360), 25)
    .option('--pointing <degrees>', 'camera off the axis', number('pointing', 0, 180), 0.3)
    .option('--fwhm <pixels>', 'of the stars', number('width of the stars', 0.8, 20), 2.4)
    .option('--sky-brightness <mag>', 'of a square arcsecond: 21.5 dark, 18 city', number('sky brightness', 15, 23), 20)
    .option('--cloud <share>', 'of the frame behind cloud, 0 to 1', number('cloud', 0, 1))
    .option('--trees <share>', 'of the frame behind trees, 0 to 1', number('trees', 0, 1))
    .option('--satellite', 'a satellite crosses each frame')
    .option('--moon', 'moonlight from one side')
    .option('--seed <text>', 'of the random numbers: another gives another night', '1')
    .option('--overwrite', 'replace files that exist')
    .option('--night', 'dim red text')
    .option('--json', 'for programs')
    .action(async (options: SimulateOptions, command: Command) => {
      if (options.play) return playBy(options, command);
      if (options.out === undefined) command.error('error: Give --out FOLDER for frames, or --play for a practice night.');
      const { simulateFiles } = await import('./simulateFiles.js');
      const { madeText } = await import('./madeText.js');
      const { say, sayJson } = await import('./output.js');
      const request = requestOf(options);
      const made = await simulateFiles(request, options.out, options.overwrite ?? false);
      if (options.json) return sayJson(made);
      // The command's own name comes first.
      const words = command.parent!.args.slice(1);
      say(madeText(made, request, options.out, words), options.night ?? false);
    });
}

/** Options that a practice night takes too. */
const OF_PLAY = ['play', 'latitude', 'longitude', 'elevation', 'time', 'interval', 'seed', 'night', 'json'];

async function playBy(options: SimulateOptions, command: Command): Promise<void> {
  const said = (name: string): boolean => command.getOptionValueSource(name) === 'cli';
  const hidden = command.options.find((option) => said(option.attributeName()) && !OF_PLAY.includes(option.attributeName()));
  if (hidden) command.error(`error: ${hidden.long} is not for --play, where mount and camera are given. Leave it out.`);
  const { play } = await import('./play.js');
  await play({
    // Another mount each time, unless one is wished again.
    seed: said('seed') ? options.seed : `${Date.now() % 1_000_000}`,
    place: {
      latitudeDeg: options.latitude, longitudeDeg: options.longitude, elevationMetres: options.elevation ?? null, begun: options.time,
    },
    intervalSeconds: options.interval, json: options.json ?? false, night: options.night ?? false,
  });
}

function requestOf(options: SimulateOptions): SimulateRequest {
  return {
    latitudeDeg: options.latitude, longitudeDeg: options.longitude, elevationMetres: options.elevation ?? null,
    pressureHectopascal: options.pressure ?? null, temperatureCelsius: options.temperature ?? null,
    start: options.time, focalLengthMillimetres: options.focalLength, apertureMillimetres: options.aperture ?? null,
    pixelSizeMicrometres: options.pixelSize, size: options.size, exposureSeconds: options.exposure, intervalSeconds: options.interval,
    altitudeErrorArcmin: options.altitudeError, azimuthErrorArcmin: options.azimuthError, rotationsDeg: options.rotations,
    tracking: options.tracking ?? false, target: options.target ?? null, toward: options.toward ?? null, frames: Math.round(options.frames),
    guided: options.guided ?? false,
    periodicErrorArcsec: options.periodicError, rateErrorArcsecPerMinute: options.rateError, jitterArcsec: options.jitter,
    mirrored: options.mirrored ?? false, rollDeg: options.roll, pointingOffsetDeg: options.pointing, fwhmPixels: options.fwhm,
    skyMagnitude: options.skyBrightness, cloud: options.cloud ?? 0, trees: options.trees ?? 0, satellite: options.satellite ?? false,
    moon: options.moon ?? false, seed: options.seed,
  };
}

function number(name: string, least: number, most: number): (text: string) => number {
  return (text) => {
    const value = text.trim() === '' ? NaN : Number(text);
    if (value >= least && value <= most) return value;
    throw new InvalidArgumentError(`The ${name} "${text}" is not a number from ${least} to ${most}. Write it without the unit.`);
  };
}

function target(text: string): { declinationDeg: number; hourAngleHours: number } {
  const [declinationDeg, hourAngleHours, more] = text.split(',').map((part) => (part.trim() === '' ? NaN : Number(part)));
  if (declinationDeg !== undefined && hourAngleHours !== undefined && more === undefined && Math.abs(declinationDeg) <= 90
    && Math.abs(hourAngleHours) <= 12) {
    return { declinationDeg, hourAngleHours };
  }
  throw new InvalidArgumentError(
    `The target "${text}" is not a declination and an hour angle. Write them like 20,-2.5 (degrees, hours, west positive).`,
  );
}

function rotations(text: string): number[] {
  const values = text.split(',').map((part) => (part.trim() === '' ? NaN : Number(part)));
  if (values.length <= 99 && values.every((value) => Math.abs(value) <= 360)) return values;
  throw new InvalidArgumentError(`The rotations "${text}" are not a list of degrees. Write them like 0,35,70 (99 frames at most).`);
}
