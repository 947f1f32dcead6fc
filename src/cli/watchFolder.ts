import { statSync } from 'node:fs';
import { basename } from 'node:path';
import { type ErrorCode, PolewardError } from '../error.js';
import { followedTurns } from '../knobs/parseTurned.js';
import { type LaterEntry, type MeasurementRecord, type SessionSite, lastRotation } from '../night/record/entry.js';
import type { FrameMarks } from '../picture/frameMarks.js';
import { type Session, readSession } from '../node/sessionFile.js';
import { placeToRead } from '../node/sessionPlace.js';
import { embeddedCatalogue } from '../node/embeddedCatalogue.js';
import { type Guidance, adviceBefore, guide } from '../tasks/measure/guidance.js';
import { type InForce, clockCorrected, withRig } from '../tasks/given/inForce.js';
import { identifyFrames } from '../tasks/recognise/identifyFrames.js';
import { marksOf } from '../tasks/measure/marksOf.js';
import { measurementJson } from '../tasks/measure/measurementJson.js';
import { type Measured } from '../tasks/measure/measureFrames.js';
import { newFrameText, nothingYetText } from '../tasks/watch/watchText.js';
import { watchNewFrames } from '../node/newFrames.js';
import { wrap } from '../tasks/words/numberWords.js';
import { say, sayLine, warn } from './output.js';
import { type KnownFrame, type Recognition, startRecognition } from '../tasks/recognise/recognition.js';
import { samePictures } from '../tasks/recognise/samePictures.js';
import { happened, openForRecheck, recordRecheck, recordRotation } from '../node/sessionUse.js';
import { type SiteInForce, siteInForce } from '../tasks/given/siteInForce.js';
import { type FrameResult, type FrameStars, starsOfFrame } from '../tasks/recognise/starsOfFrame.js';
import type { WatchOptions } from './watch.js';
import type { WatchPanel } from './watchPanel.js';
import { type Taken, type WatchState, takeFrame } from '../tasks/watch/watchState.js';

/** How long a file that looks cut short is waited for, ms. */
const PATIENCE_MS = 5000;
/** Frames remembered to know a copy by. */
const MOST_ANSWERED = 50;

/** Runs until Ctrl-C: answers each new frame in a folder. A frame that can't be used costs a sentence and nothing else. */
export async function watchFolder(folder: string, given: WatchOptions): Promise<void> {
  if (!statSync(folder, { throwIfNoEntry: false })?.isDirectory()) {
    throw new PolewardError('file-unreadable', `There is no folder ${folder}. Name the one the camera saves its frames to.`);
  }
  const options = withRig(given, folder);
  const night = options.night ?? false;
  const watcher = new Watching(folder, options);
  await watcher.startPanel();
  const frames = await watchNewFrames(folder, options.poll ?? false, options.all ?? false);
  const stop = (): void => { void frames.stop(); };
  process.once('SIGINT', stop).once('SIGTERM', stop);
  if (options.json) sayLine({ schema: 'poleward/watch-1', message: 'ready' });
  else say(wrap(watcher.greeting(), 60), night);
  for (;;) {
    const files = await frames.next();
    if (files === null) break;
    await watcher.take(files);
  }
  process.off('SIGINT', stop).off('SIGTERM', stop);
  await watcher.stopPanel();
  if (!options.json) say(wrap(`Watch ended. ${options.session === false ? 'Nothing was recorded.' : 'The session is whole: poleward log shows it.'}`, 60), night);
}

/** What a running watch holds between frames. */
class Watching {
  private state: WatchState = { group: [], base: null };
  private recognition: Recognition | null = null;
  private sessionSite: SessionSite | null = null;
  private answered: readonly FrameStars[] = [];
  private memory: Buffer | undefined;
  private readonly night: boolean;
  private panel: WatchPanel | null = null;

  constructor(private readonly folder: string, private readonly options: WatchOptions & InForce) {
    this.night = options.night ?? false;
    const session = sessionBeside(folder, options);
    const base = session && lastRotation(session.recorded);
    // A session of another night has nothing to say about this one.
    if (session && base && Date.now() - Date.parse(base.entry.state.utc) < 12 * 3_600_000) {
      this.state = { group: [], base: base.entry.state };
      this.sessionSite = session.start.site;
    }
  }

  greeting(): string {
    return `Watching ${this.folder}. ${this.whatToDo()}`;
  }

  private whatToDo(): string {
    return this.state.base
      ? `Going by the measurement of ${this.state.base.utc.slice(11, 16)} UTC: turn a knob and save a frame.`
      : 'Save a frame, turn the mount by 30° or more in right ascension, save another.';
  }

  /** Serves the panel if it was asked for. */
  async startPanel(): Promise<void> {
    if (!this.options.panel && !this.options.panelOpen) return;
    const { startWatchPanel } = await import('./watchPanel.js');
    this.panel = await startWatchPanel(this.options, this.state.base && sessionBeside(this.folder, this.options), this.whatToDo());
  }

  async stopPanel(): Promise<void> {
    await this.panel?.stop();
  }

  /** Answers the files that have come: the newest first, in full; those before it in a line each. */
  async take(files: readonly string[]): Promise<void> {
    const results: FrameResult[] = [];
    for (const file of files) results.push(clockCorrected(await this.starsOf(file), this.options));
    this.refuseSeen(results);
    const found = results.filter((r): r is FrameStars => 'stars' in r);
    const site = siteInForce(this.options, found.length > 0 ? found : this.seen(), this.sessionSite);
    const outcomes = identifyFrames(results, this.recognitionAt(site));
    for (const { trouble } of outcomes) if (trouble) this.trouble(trouble.code, trouble.message);
    const known = outcomes.flatMap((o) => (o.known ? [o.known] : [])).sort((a, b) => a.sky.time.getTime() - b.sky.time.getTime());
    const answers: (() => void)[] = [];
    for (const frame of known) answers.unshift(await this.answer(frame, site));
    for (const show of answers) show();
    this.panel?.refresh();
  }

  private seen(): FrameStars[] {
    return this.state.group.map((k) => k.frame);
  }

  /** Takes out pictures that were answered before: a file touched again without a word, a copy with one. */
  private refuseSeen(results: FrameResult[]): void {
    const same = samePictures([...this.answered, ...results]);
    for (const [result, trouble] of same) {
      const at = results.indexOf(result);
      if (at < 0) continue;
      results.splice(at, 1);
      if (!this.answered.some(({ file }) => file === result.file)) this.trouble(trouble.code, trouble.message);
    }
  }

  /** Takes one frame, records what it gives, and returns what is to be shown. */
  private async answer(frame: KnownFrame, site: SiteInForce | null): Promise<() => void> {
    const name = basename(frame.frame.file);
    this.answered = [...this.answered, frame.frame].slice(-MOST_ANSWERED);
    try {
      const before = this.state.group.length;
      const { state, taken, measured } = takeFrame(this.state, frame, site, this.options);
      this.state = state;
      if (!measured) {
        this.panel?.nothingYet(taken, before);
        return () => this.show(nothingYetText(name, taken));
      }
      const session = sessionBeside(this.folder, this.options);
      const advised = session && this.options.followed && taken === 'adjusted' ? adviceBefore(session, this.options) : null;
      const turned = advised ? followedTurns(advised) : [];
      const guidance = guide(measured.measurement, this.options, session, turned);
      const record = measurementJson(measured, guidance);
      const said = await this.record(measured, record, marksOf(measured, guidance), happened(measured.site ? guidance.cautions : [], turned, advised));
      this.panel?.answer(measured, guidance, taken);
      return () => this.showAnswer(name, taken, measured, guidance, record, said);
    } catch (error) {
      if (!(error instanceof PolewardError)) throw error;
      return () => this.trouble(error.code, error.message.includes(name) ? error.message : `${name}: ${error.message}`);
    }
  }

  private async record(measured: Measured, record: MeasurementRecord, marks: FrameMarks, before: readonly LaterEntry[]): Promise<string | null> {
    if (this.options.session === false) return null;
    if (measured.how === 'rotation') return recordRotation(this.folder, this.options, measured, record, marks, before);
    await recordRecheck(openForRecheck(this.folder, this.options), this.options, measured, record, marks, before);
    return null;
  }

  private showAnswer(name: string, taken: Taken, measured: Measured, guidance: Guidance, record: MeasurementRecord, said: string | null): void {
    if (this.options.json) {
      sayLine({ ...record, taken });
      return;
    }
    this.show(newFrameText(name, taken, measured, guidance));
    for (const { message } of measured.warnings) warn(wrap(`warning: ${message}`, 60, '  '), this.night);
    if (said) warn(wrap(said, 60, '  '), this.night);
  }

  private show(text: string): void {
    if (this.options.json) sayLine({ schema: 'poleward/watch-1', message: text });
    else say(`\n${text}`, this.night);
  }

  private trouble(code: ErrorCode, message: string): void {
    this.panel?.unusable(code);
    warn(wrap(message, 60, '  '), this.night);
  }

  /** Reads a frame, again while it looks as if it were still being written. */
  private async starsOf(file: string): Promise<FrameResult> {
    for (const begin = Date.now(); ;) {
      const size = statSync(file, { throwIfNoEntry: false })?.size ?? 0;
      if (size > (this.memory?.length ?? 0) && size < 2 ** 30) this.memory = Buffer.allocUnsafeSlow(size);
      const offset = this.options.utcOffset;
      const result = await starsOfFrame(file, {
        ...(offset === undefined ? {} : { utcOffsetMinutes: offset }), ...(this.memory ? { memory: this.memory } : {}),
      });
      const unfinished = 'code' in result && (result.code === 'file-truncated' || result.code === 'not-an-image');
      if (!unfinished || Date.now() - begin > PATIENCE_MS) return result;
      await new Promise((resolve) => { setTimeout(resolve, 100); });
    }
  }

  private recognitionAt(site: SiteInForce | null): Recognition {
    const now = site?.site ?? null;
    if (!this.recognition || JSON.stringify(this.recognition.site) !== JSON.stringify(now)) {
      const { base } = this.state;
      this.recognition = startRecognition(now, this.options, embeddedCatalogue(), base && { value: base.lens, hemisphere: base.hemisphere });
    }
    return this.recognition;
  }
}

/** The session beside the frames, if there is one that can be read. */
function sessionBeside(folder: string, options: WatchOptions): Session | null {
  if (options.session === false || options.newSession) return null;
  try {
    return readSession(placeToRead({ session: options.session, folder }).path);
  } catch (error) {
    if (error instanceof PolewardError) return null;
    throw error;
  }
}
