#!/usr/bin/env node
import { Command, CommanderError } from 'commander';
import { PolewardError } from '../error.js';
import { printable } from '../printable.js';
import { VERSION } from '../node/version.js';
import { exampleHelp } from './examples.js';
import { endCleanly } from './interrupt.js';
import { addBudgetCommand } from './budget.js';
import { addInspectCommand } from './inspect.js';
import { addLogCommand } from './log.js';
import { addMeasureCommand } from './measure.js';
import { endProgress, progressInRed } from './progress.js';
import { addPageCommand } from './page.js';
import { addPrepareCommand } from './prepare.js';
import { addRecheckCommand } from './recheck.js';
import { addRigCommand } from './rig.js';
import { addSimulateCommand } from './simulate.js';
import { withoutFarSuggestion } from './suggestions.js';
import { addVerifyCommand } from './verify.js';
import { addWatchCommand } from './watch.js';

const DONE = 0;
const COULD_NOT = 1;
const WRONG_USAGE = 2;

function makeProgram(): Command {
  const program = new Command('poleward')
    .description('Points an equatorial mount\'s right-ascension axis at the celestial pole, from frames its camera saved.')
    .version(VERSION)
    .exitOverride()
    .configureOutput({
      writeErr: (text) => { process.stderr.write(text.split('\n').map((line) => printable(line)).join('\n')); },
      outputError: (text, write) => { write(withoutFarSuggestion(text)); },
    })
    .configureHelp({ helpWidth: 78 })
    .showHelpAfterError('(poleward --help, or poleward COMMAND --help, says more)');
  addMeasureCommand(program);
  addRecheckCommand(program);
  addWatchCommand(program);
  addVerifyCommand(program);
  addInspectCommand(program);
  addPrepareCommand(program);
  addBudgetCommand(program);
  addSimulateCommand(program);
  addLogCommand(program);
  addRigCommand(program);
  addPageCommand(program);
  for (const command of program.commands) command.addHelpText('after', exampleHelp(command.name()));
  program.hook('preAction', (_program, command) => {
    const night = command.opts<{ night?: boolean }>().night ?? false;
    if (night) progressInRed();
    // What goes on until Ctrl-C ends it sees to that itself.
    if (command.name() !== 'watch' && !command.opts<{ play?: boolean }>().play) endCleanly(night);
  });
  return program;
}

async function main(): Promise<number> {
  try {
    await makeProgram().parseAsync();
    // A command that found its subject outside a limit has set its own exit code.
    return typeof process.exitCode === 'number' ? process.exitCode : DONE;
  } catch (error) {
    endProgress();
    if (error instanceof CommanderError) return error.exitCode === 0 ? DONE : WRONG_USAGE;
    if (error instanceof PolewardError) {
      const { worded } = await import('./remedyWords.js');
      const { warn } = await import('./output.js');
      warn(worded(error), false);
      return COULD_NOT;
    }
    const text = error instanceof Error ? error.message : String(error);
    const { warn } = await import('./output.js');
    warn(`Something went wrong inside Poleward: ${text}\nRun it again; if it persists, report it with the frames.`, false);
    return COULD_NOT;
  }
}

// A reader that has seen enough (`| head`) is no error.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code === 'EPIPE') process.exit();
  throw error;
});

/** Resolves when the command has ended and its exit code is set. */
export const done = main().then((code) => { process.exitCode = code; });
