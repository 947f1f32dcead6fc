import { statSync } from 'node:fs';
import { basename } from 'node:path';
import { type ErrorCode, PolewardError } from '../error.js';
import { followedTurns } from '../knobs/parseTurned.js';
import { type MeasurementRecord, type SessionSite, lastRotation } from '../night/record/entry.js';
import type { Session } from '../night/record/session.js';
import { knobHistory } from '../node/earlierSessions.js';
import { starsOfFile } from '../node/starsOfFile.js';
import type { Notice } from '../remedy.js';
import { embeddedCatalogue } from '../node/embeddedCatalogue.js';
import { type Guidance, adviceBefore, guide } from '../tasks/measure/guidance.js';
import type { Given } from '../tasks/given/given.js';
import { rigName } from '../tasks/given/rigInForce.js';
import { happened } from '../tasks/measure/happened.js';
import { givenFor } from './given.js';
import { remedyWords, worded } from './remedyWords.js';
import { sayWarnings, wordedRecord } from './showMeasured.js';
import { identifyFrames } from '../tasks/recognise/identifyFrames.js';
import { marksOf } from '../tasks/measure/marksOf.js';
import { measurementJson } from '../tasks/measure/measurementJson.js';
import { type Measured } from '../tasks/measure/measureFrames.js';
import { newFrameText, nothingYetText } from '../tasks/watch/watchText.js';
import { watchNewFrames } from '../node/newFrames.js';
import { wrap } from '../tasks/words/numberWords.js';
import { say, sayLine, warn } from './output.js';
import { type KnownFrame, type KnownCamera, type Reference, makeReference, startRecognition } from '../tasks/recognise/recognition.js';
import { samePictures } from '../tasks/recognise/samePictures.js';
import { type RecordedAnswer, openForRecheck, openForRotation, recordRecheck, recordRotation, sessionThere } from '../node/sessionUse.js';
import { type SiteInForce, siteInForce } from '../tasks/given/siteInForce.js';
import { type FrameResult, type FrameStars, clockCorrected } from '../tasks/recognise/frameStars.js';
import type { WatchOptions } from './watchOptions.js';
import type { WatchPanel } from './watchPanel.js';
import { type Taken, type WatchState, takeFrame } from '../tasks/watch/watchState.js';

/** How long a file that looks cut short is waited for, ms. */
const PATIENCE_MS = 5000;
/** Frames remembered to know a copy by. */
const MOST_ANSWERED = 50;

/** Runs until Ctrl-C: answers each new frame in a folder. A frame that can't be used costs a sentence and nothing else. */
export async function watchFolder(folder: string, options: WatchOptions): Promise<void> {
  if (!statSync(folder, { throwIfNoEntry: false })?.isDirectory()) {
    throw new PolewardError('file-unreadable', `There is no folder ${folder}. Name the one the camera saves its frames to.`);
  }
  const night = options.night ?? false;
  const watcher = new Watching(folder, options, givenFor(options, folder));
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
  private reference: Reference | null = null;
  private camera: KnownCamera | null = null;
  private sessionSite: SessionSite | null = null;
  private answered: readonly FrameStars[] = [];
  private memory: Buffer | undefined;
  private readonly night: boolean;
  private panel: WatchPanel | null = null;

  constructor(private readonly folder: string, private readonly options: WatchOptions, private readonly given: Given) {
    this.night = options.night ?? false;
    const session = this.session();
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
    this.panel = await startWatchPanel(this.options, this.given, this.state.base && this.session(), this.whatToDo());
  }

  async stopPanel(): Promise<void> {
    await this.panel?.stop();
  }

  /** Answers the files that have come: the newest first, in full; those before it in a line each. */
  async take(files: readonly string[]): Promise<void> {
    const results: FrameResult[] = [];
    for (const file of files) results.push(clockCorrected(await this.starsOf(file), this.given));
    this.refuseSeen(results);
    const found = results.filter((r): r is FrameStars => 'stars' in r);
    const site = siteInForce(this.given, found.length > 0 ? found : this.seen(), this.sessionSite);
    const { outcomes, recognition } = identifyFrames(results, this.referenceAt(site), startRecognition(this.camera));
    this.camera = recognition.camera;
    for (const { trouble } of outcomes) if (trouble) this.trouble(trouble.code, worded(trouble));
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
      if (!this.answered.some(({ file }) => file === result.file)) this.trouble(trouble.code, worded(trouble));
    }
  }

  /** Takes one frame, records what it gives, and returns what is to be shown. */
  private async answer(frame: KnownFrame, site: SiteInForce | null): Promise<() => void> {
    const name = basename(frame.frame.file);
    this.answered = [...this.answered, frame.frame].slice(-MOST_ANSWERED);
    try {
      const before = this.state.group.length;
      const { state, taken, measured } = takeFrame(this.state, frame, site, this.given);
      this.state = state;
      if (!measured) {
        this.panel?.nothingYet(taken, before);
        return () => this.show(nothingYetText(name, taken));
      }
      const rig = this.given.rigFile?.rig ?? null;
      const session = this.session();
      const history = session && knobHistory(session, rigName(this.given.rigFile));
      const advised = history && this.options.followed && taken === 'adjusted' ? adviceBefore(history, rig) : null;
      const turned = advised ? followedTurns(advised) : [];
      const guidance = guide(measured.measurement, rig, history, this.options.cautions ?? false, turned);
      const record = measurementJson(measured, guidance);
      const said = await this.record({
        measured, record, marks: marksOf(measured, guidance, embeddedCatalogue()), rig: rigName(this.given.rigFile),
        before: happened(new Date(), measured.site ? guidance.cautions : [], turned, advised),
      });
      this.panel?.answer(measured, guidance, taken);
      return () => this.showAnswer(name, taken, measured, guidance, record, said);
    } catch (error) {
      if (!(error instanceof PolewardError)) throw error;
      return () => this.trouble(error.code, error.message.includes(name) ? worded(error) : `${name}: ${worded(error)}`);
    }
  }

  private async record(answer: RecordedAnswer): Promise<Notice | null> {
    const { session, newSession } = this.options;
    if (session === false) return null;
    if (answer.measured.how === 'rotation') return recordRotation(openForRotation({ session, newSession, folder: this.folder }, answer.measured), answer);
    await recordRecheck(openForRecheck(this.folder, session), answer);
    return null;
  }

  private session(): Session | null {
    const { session, newSession } = this.options;
    return sessionThere({ session, newSession, folder: this.folder });
  }

  private showAnswer(name: string, taken: Taken, measured: Measured, guidance: Guidance, record: MeasurementRecord, said: Notice | null): void {
    if (this.options.json) {
      sayLine({ ...wordedRecord(record), taken });
      return;
    }
    this.show(newFrameText(name, taken, measured, guidance, remedyWords));
    sayWarnings(measured.warnings, this.night);
    if (said) warn(wrap(worded(said), 60, '  '), this.night);
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
      const offset = this.given.utcOffsetMinutes?.value;
      const result = await starsOfFile(file, {
        ...(offset === undefined ? {} : { utcOffsetMinutes: offset }), ...(this.memory ? { memory: this.memory } : {}),
      });
      const unfinished = 'code' in result && (result.code === 'file-truncated' || result.code === 'not-an-image');
      if (!unfinished || Date.now() - begin > PATIENCE_MS) return result;
      await new Promise((resolve) => { setTimeout(resolve, 100); });
    }
  }

  /** What frames are recognised by; where the site is another than before, recognition begins anew. */
  private referenceAt(site: SiteInForce | null): Reference {
    const now = site?.site ?? null;
    if (this.reference && JSON.stringify(this.reference.site) === JSON.stringify(now)) return this.reference;
    this.camera = this.state.base;
    this.reference = makeReference(now, this.given, embeddedCatalogue());
    return this.reference;
  }
}
