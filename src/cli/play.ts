import { createInterface } from 'node:readline';
import { attempt, PolewardError } from '../error.js';
import { embeddedCatalogue } from '../node/embeddedCatalogue.js';
import { inSteps } from '../node/breathe.js';
import { nodeDecoders } from '../node/decoders.js';
import { VERSION } from '../node/version.js';
import type { Pace } from '../numeric/steps.js';
import type { Remedy } from '../remedy.js';
import { limitInForce } from '../tasks/measure/limit.js';
import { type PracticePlace, practiceTruth } from '../tasks/simulate/practiceFrame.js';
import { type PracticeNight, type Practised, beginPractice, practised, withHand, withSlew } from '../tasks/simulate/practiceNight.js';
import { leadText, newFrameText, nothingYetText } from '../tasks/watch/watchText.js';
import { wrap } from '../tasks/words/numberWords.js';
import { say, sayLine, textWidth, warn } from './output.js';
import { PLAY_HELP, type PlayCommand, playCommand } from './playCommand.js';
import { remedyWords, worded } from './remedyWords.js';
import { sayWarnings, styleOf, wordedRecord } from './showMeasured.js';

/** A practice night that is wished. */
export interface PlayRequest {
  readonly seed: string;
  readonly place: PracticePlace;
  /** From the start of one frame to that of the next, of the night's own clock: nobody has to wait. */
  readonly intervalSeconds: number;
  readonly json: boolean;
  readonly night: boolean;
}

/** Runs a practice night, a line of input at a time, until its end, Ctrl-C or "end". */
export async function play(request: PlayRequest): Promise<void> {
  const { stdin, stdout } = process;
  const atTerminal = stdin.isTTY === true && stdout.isTTY === true && !request.json;
  const lines = createInterface({ input: stdin, ...(atTerminal ? { output: stdout, terminal: true } : {}) });
  lines.setPrompt(request.night ? '\u001b[2;31m> ' : '> ');
  const practice = new TerminalPractice(request);
  const stop = (): void => {
    practice.stop();
    lines.close();
  };
  lines.on('SIGINT', stop);
  process.once('SIGINT', stop).once('SIGTERM', stop);
  practice.begin();
  if (atTerminal) lines.prompt();
  for await (const line of lines) {
    if (!await practice.take(line)) break;
    if (atTerminal) lines.prompt();
  }
  lines.close();
  practice.end();
}

/** A remedy in this practice's words: what is turned here is told of itself. */
function inPlay(remedy: Remedy): string {
  return typeof remedy === 'string' ? remedyWords(remedy) : `${remedy.knob} ${remedy.turns.toFixed(2)}`;
}

/** Work that was left because the person has ended the night. */
class Left extends Error {}

/** A virtual mount under the person's hands, and what is said about it. */
class TerminalPractice {
  private practice: PracticeNight;
  private last: Practised | null = null;
  private stopped = false;

  constructor(private readonly request: PlayRequest) {
    this.practice = beginPractice(request.seed, request.place);
  }

  /** Leaves what it is at. */
  stop(): void {
    this.stopped = true;
  }

  begin(): void {
    const { seed, place } = this.request;
    if (this.request.json) {
      this.event('begun', {
        seed, utc: place.begun.toISOString(), latitudeDeg: place.latitudeDeg, longitudeDeg: place.longitudeDeg,
        elevationMetres: place.elevationMetres,
      });
    } else {
      this.say(wrap(`A virtual mount, set up roughly. How far it is off is hidden, and what its knobs do. The same again: --seed ${seed}.`,
        textWidth()));
      this.say(`\n${PLAY_HELP}\n\nnext: Save a frame.`);
    }
  }

  /** Does what a line asks for; false where it ends the night. */
  async take(line: string): Promise<boolean> {
    const command = attempt(() => playCommand(line));
    if (command instanceof PolewardError) this.refuse(command);
    else if (command !== null) return this.does(command);
    return true;
  }

  end(): void {
    const { frames } = this.practice.mount;
    if (this.request.json) this.event('ended', { frames });
    else this.say(`\nPractice ended after ${frames} frame${frames === 1 ? '' : 's'}.`);
  }

  private async does(command: PlayCommand): Promise<boolean> {
    const { json } = this.request;
    switch (command.does) {
      case 'knob': {
        const { turned: { knob, turns } } = command;
        this.practice = withHand(this.practice, command.turned);
        if (json) this.event('turned', { knob, turns });
        else this.say(`${knob} turned ${Math.abs(turns).toFixed(2)} ${turns < 0 ? 'counter-clockwise' : 'clockwise'}`);
        return true;
      }
      case 'slew': {
        const { degrees } = command;
        this.practice = withSlew(this.practice, degrees);
        if (json) this.event('slewed', { degrees });
        else this.say(`mount turned ${Math.abs(degrees).toFixed(1)}° ${degrees < 0 ? 'east' : 'west'} in right ascension`);
        return true;
      }
      case 'frame': await this.saveFrame(); return true;
      case 'answer': this.showLast(); return true;
      case 'truth': this.showTruth(); return true;
      case 'help': if (json) this.event('help', { message: PLAY_HELP }); else this.say(PLAY_HELP); return true;
      case 'end': return false;
    }
  }

  private async saveFrame(): Promise<void> {
    const { place, intervalSeconds } = this.request;
    const at = new Date(place.begun.getTime() + 1000 * intervalSeconds * this.practice.mount.frames);
    try {
      this.last = await practised(this.practice, at, {
        catalogue: embeddedCatalogue(), decoders: nodeDecoders, pace: this.pace, limit: limitInForce(undefined, null, null),
        version: VERSION,
      });
    } catch (error) {
      if (error instanceof Left) return;
      throw error;
    }
    this.practice = this.last.night;
    this.showLast();
  }

  private readonly pace: Pace = async (steps) => {
    const done = await inSteps(steps, () => this.stopped);
    if (!done) throw new Left();
    return done.value;
  };

  private showLast(): void {
    if (!this.last) {
      this.refuse(new PolewardError('too-few-frames', 'There is no answer yet. Save a frame.'));
      return;
    }
    const { json, night } = this.request;
    const { answer, happened, utc, file, next, about, trouble } = this.last;
    const taken = happened?.what ?? null;
    if (json) {
      if (answer) sayLine({ ...wordedRecord(answer.record), taken });
      else this.event('frame', { file, utc, taken, next, ...(trouble ? { trouble: worded(trouble) } : {}) });
      return;
    }
    const width = textWidth();
    const lead = happened && utc !== null ? leadText(utc, file, happened, width) : '';
    if (answer) this.say(newFrameText(lead, answer.measured, answer.guidance, answer.said, { ...styleOf({}, () => ''), remedies: inPlay }));
    else this.say(nothingYetText(lead, about, next, width));
    if (trouble) warn(wrap(worded(trouble), width, '  '), night);
    if (answer) sayWarnings(answer.measured.warnings, night);
  }

  private showTruth(): void {
    const { altitudeArcmin, azimuthArcmin, knobs } = this.practice.mount;
    if (!this.request.json) this.say(practiceTruth(this.practice.mount).map((line) => wrap(line, textWidth(), '  ')).join('\n'));
    else {
      const short = (value: number): number => Number(value.toFixed(3));
      const knob = ({ travel, play: lost, tilt }: typeof knobs.azimuth): object => (
        { arcminPerTurn: short(travel), playTurns: short(lost), tilt: short(tilt) });
      this.event('truth', {
        fromTruePole: { altitudeArcmin: short(altitudeArcmin), azimuthArcmin: short(azimuthArcmin) },
        knobs: { azimuth: knob(knobs.azimuth), altitude: knob(knobs.altitude) },
      });
    }
  }

  private refuse(error: PolewardError): void {
    if (this.request.json) this.event('refused', { message: worded(error) });
    else warn(wrap(worded(error), textWidth(), '  '), this.request.night);
  }

  private event(event: string, more: object): void {
    sayLine({ schema: 'poleward/practice-1', event, ...more });
  }

  private say(text: string): void {
    say(text, this.request.night);
  }
}
