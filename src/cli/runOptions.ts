import { type Command, InvalidArgumentError, Option } from 'commander';
import { withPoint } from '../frames/decimalText.js';
import { parseDegrees } from '../frames/sexagesimal.js';
import { angle, option, quantity } from './commonOptions.js';
import { pictureSize } from './pictureSize.js';
import { writtenTime } from '../tasks/given/written.js';

/** Options of a planned run, as commander gives them. */
export interface RunOptions {
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

/** The options that say what run is planned. */
export function addRunOptions(command: Command): Command {
  return command
    .addOption(new Option('--declination <degrees>', 'of the target, north positive')
      .argParser(angle('declination', 90)))
    .option('--hour-angle <h>', 'of the target at the start, west positive: -2.5, "-2 30"', hours('hour angle', -24, 24))
    .option('--right-ascension <h>', 'of the target (J2000), with --start instead of the hour angle', hours('right ascension', 0, 24))
    .option('--start <UTC>', 'when the run begins', option(writtenTime))
    .addOption(new Option('--hours <h>', 'how long the run is')
      .argParser(quantity('length of the run', 0.001, 24, 'hours')))
    .addOption(new Option('--exposure <s>', 'of each frame')
      .argParser(quantity('exposure', 0.001, 86400, 's')))
    .option('--sensor <WxH>', 'size of the frames, pixels', pictureSize)
    .option('--guided', 'a guide star in the middle of the field is kept in its place')
    .option('--guide-offset <degrees>', 'guided, by a star this far from the middle', quantity('guide star\'s offset', 0, 60, 'degrees'))
    .option('--limit <pixels>', 'longest trail in one exposure (default: 1)', quantity('limit', 0.001, 1000, 'pixels'))
    .option('--no-refraction', 'leave out the air');
}

/** Hours as a number or as hours, minutes, seconds. */
function hours(name: string, least: number, most: number): (text: string) => number {
  return (text) => {
    const plain = withPoint(text.trim());
    const value = parseDegrees(/^[+-]?[\d.]+$/.test(plain) ? Number(plain) : plain);
    if (Number.isFinite(value) && value >= least && value <= most) return value;
    throw new InvalidArgumentError(
      `The ${name} "${text}" is not a time from ${least} to ${most} hours. Write hours, such as 2.5 or "2 30 00".`,
    );
  };
}
