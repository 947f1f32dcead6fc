import type { Command } from 'commander';
import { writtenQuantity } from '../tasks/given/written.js';
import { option } from './commonOptions.js';

/** `--session FILE`, `--no-session`, `--new-session` as commander gives them. */
export interface SessionOptions {
  readonly session?: string | false;
  readonly newSession?: boolean;
  readonly cautions?: boolean;
  /** Arcminutes. */
  readonly limit?: number;
  readonly full?: boolean;
  readonly rememberedCamera?: boolean;
}

export function addSessionOptions(command: Command): Command {
  return command
    .option('--session <file>', 'where the night is recorded; else beside the frames')
    .option('--no-session', 'record nothing')
    .option('--new-session', 'begin a new record; the old one stays')
    .option('--limit <arcmin>', 'how near the pole is good enough (else the rig file\'s, else 1); exit code 3 if the axis is '
      + 'farther off', option((text) => writtenQuantity('limit', text)))
    .option('--full', 'also the figures for the curious')
    .option('--no-remembered-camera', 'ignore where the camera sat on the mount the night before')
    .option('--cautions', 'show all cautions, also those that were shown before');
}
