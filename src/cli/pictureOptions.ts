import type { Command } from 'commander';

/** `--picture FILE`, `--picture-star STAR`, `--overwrite` as commander gives them. */
export interface PictureOptions {
  readonly picture?: string;
  readonly pictureStar?: string;
  readonly overwrite?: boolean;
}

export function addPictureOptions(command: Command): Command {
  return command
    .option('--picture <file>', 'draw the newest frame with axis, pole, a star\'s goal and both knobs: .svg or .png')
    .option('--picture-star <star>', 'the star whose goal is drawn: Polaris, "sigma Oct", or x,y of one in the frame; else the brightest')
    .option('--overwrite', 'replace the picture if it exists; a picture of the same frame is always replaced');
}
