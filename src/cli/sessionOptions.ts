import type { Command } from 'commander';

/** `--session FILE`, `--no-session`, `--new-session` as commander gives them. */
export interface SessionOptions {
  readonly session?: string | false;
  readonly newSession?: boolean;
  readonly cautions?: boolean;
}

export function addSessionOptions(command: Command): Command {
  return command
    .option('--session <file>', 'where the night is recorded; else beside the frames')
    .option('--no-session', 'record nothing')
    .option('--new-session', 'begin a new record; the old one stays')
    .option('--cautions', 'show the cautions again that were shown before');
}
