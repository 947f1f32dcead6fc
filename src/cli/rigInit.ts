import { existsSync, statSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { createInterface } from 'node:readline';
import type { Readable, Writable } from 'node:stream';
import { PolewardError } from '../error.js';
import { parseRig, type Rig } from '../knobs/rig.js';
import { wrap } from '../tasks/words/numberWords.js';
import { QUESTIONS, SKIPPED, readAnswer, rigFromAnswers } from '../tasks/rig/rigQuestions.js';
import { writeWhole } from '../node/wholeFile.js';

/** The person or pipe that answers. */
export interface Conversation {
  readonly input: Readable & { readonly isTTY?: boolean };
  readonly output: Writable;
}

/**
 * Asks for a rig and writes its file. At a terminal a wrong answer is asked again; from a pipe, with one answer a line, it ends the
 * command, since the lines after it would answer other questions. Enter skips a question; the end of the input skips all that are left.
 * Throws PolewardError where the file exists (without `overwrite`), can't be written, or nobody answers.
 */
export async function initRig(file: string, overwrite: boolean, { input, output }: Conversation): Promise<Rig> {
  const path = resolve(file);
  if (existsSync(path) && (!overwrite || statSync(path).isDirectory())) {
    throw new PolewardError(
      'bad-option', `${file} exists already. Give another name to --init${statSync(path).isDirectory() ? '' : ', or --overwrite'}.`,
    );
  }
  if (!existsSync(dirname(path))) throw new PolewardError('bad-option', `The folder of ${file} does not exist. Make it first.`);
  const lines = createInterface({ input, output, terminal: input.isTTY === true, crlfDelay: Infinity });
  const answers = new Map<string, unknown>();
  let heard = false;
  let interrupted = false;
  lines.on('SIGINT', () => {
    interrupted = true;
    lines.close();
  });
  const iterator = lines[Symbol.asyncIterator]();
  const tell = (text: string): void => void output.write(`${text}\n`);
  try {
    tell(wrap(`A rig file for ${path}. Enter skips a question; all of it can be changed in the file later.`, 60));
    questions: for (const question of QUESTIONS) {
      if (question.only && !question.only(answers)) continue;
      for (;;) {
        tell(`\n${wrap(question.ask, 60)}\n${wrap(`(${question.why})`, 60, ' ')}`);
        lines.setPrompt('> ');
        lines.prompt();
        const next = await iterator.next();
        if (next.done) break questions;
        heard = true;
        const text = next.value.trim();
        if (input.isTTY !== true) tell(text);
        if (text === '') break;
        const answer = readAnswer(question, text);
        if ('value' in answer) {
          if (answer.value !== SKIPPED) answers.set(answer.field.join('.'), answer.value);
          break;
        }
        const problem = `"${text}" won't do; expected ${answer.expected}.`;
        if (input.isTTY !== true) {
          throw new PolewardError('bad-option', `${question.field.join('.')}: ${problem} Nothing was written; put that line right.`);
        }
        tell(wrap(problem, 60));
      }
    }
  } finally {
    lines.close();
  }
  if (interrupted) throw new PolewardError('bad-option', 'Interrupted; nothing was written. Start again with poleward rig --init.');
  if (!heard) {
    throw new PolewardError('bad-option', 'rig --init asks questions, and there is nobody to answer. Run it at a terminal, or pipe the '
      + 'answers to it, one a line.');
  }
  if (answers.size === 0) throw new PolewardError('bad-option', 'Every question was skipped, so nothing was written. Answer at least one.');
  const { rig, dropped } = rigFromAnswers(answers);
  if (dropped.length > 0) tell(`\n${wrap(`Left out, since what belongs to it was skipped: ${dropped.join(', ')}.`, 60)}`);
  if (Object.keys(rig).length < 2) throw new PolewardError(
    'bad-option', 'Nothing is left to write. Answer what belongs together: latitude and longitude, thread and lever arm.',
  );
  const text = `${JSON.stringify(rig, null, 2)}\n`;
  // Each answer was checked alone; the rig must also be valid as a whole.
  parseRig(text, file);
  writeWhole(path, text, overwrite);
  return rig;
}
