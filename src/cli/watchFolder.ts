import { readdirSync, statSync } from 'node:fs';
import { basename, resolve } from 'node:path';
import { aimedError } from '../axis/aim.js';
import { type ErrorCode, PolewardError } from '../error.js';
import { hasFrameEnding } from '../frames/frameEndings.js';
import { followedTurns } from '../knobs/parseTurned.js';
import { type HappenedBefore, happenedBefore } from '../night/happenings.js';
import { type Night, answerAt } from '../night/night.js';
import { whyNotOf } from '../night/record/checkSession.js';
import { entriesOf } from '../night/record/entry.js';
import { cameraOf } from '../night/record/nightOfSession.js';
import type { Session } from '../night/record/session.js';
import { nextWithoutAnswer } from '../night/said.js';
import { knobHistory } from '../node/earlierSessions.js';
import { embeddedCatalogue } from '../node/embeddedCatalogue.js';
import { watchNewFrames } from '../node/newFrames.js';
import { type OpenRecord, type ToRecord, openForFrames, record, sessionSite, sessionThere, whereAndWhen } from '../node/nightRecord.js';
import { starsOfFile } from '../node/starsOfFile.js';
import type { Notice } from '../remedy.js';
import { type Given, clockZone } from '../tasks/given/given.js';
import { rigName } from '../tasks/given/rigInForce.js';
import { type SiteInForce, siteInForce } from '../tasks/given/siteInForce.js';
import { adviceBefore } from '../tasks/measure/guidance.js';
import { saidOf } from '../tasks/measure/happened.js';
import { type Added, addFrames, measuredBy, nightBefore } from '../tasks/measure/measureFrames.js';
import { hemisphereSeen, seen } from '../tasks/measure/seeFrames.js';
import { type FrameResult, type FrameStars, clockCorrected } from '../tasks/recognise/frameStars.js';
import { identifyFrames } from '../tasks/recognise/identifyFrames.js';
import { type KnownCamera, type KnownFrame, type Reference, makeReference, startRecognition } from '../tasks/recognise/recognition.js';
import { samePictures } from '../tasks/recognise/samePictures.js';
import { greetingText, leadText, newFrameText, nothingYetText } from '../tasks/watch/watchText.js';
import { arcminutes, wrap } from '../tasks/words/numberWords.js';
import { type Answered, type Done, NOTHING_DONE, answerOf, limitFor } from './answerFrames.js';
import { givenFor } from './given.js';
import { say, sayLine, textWidth, warn } from './output.js';
import { rememberedFor } from './remembered.js';
import { worded } from './remedyWords.js';
import { sayWarnings, styleOf, wordedRecord } from './showMeasured.js';
import type { WatchOptions } from './watchOptions.js';
import type { WatchPanel } from './watchPanel.js';

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
  else say(watcher.greeting(), night);
  for (;;) {
    const files = await frames.next();
    if (files === null) break;
    await watcher.take(files);
  }
  process.off('SIGINT', stop).off('SIGTERM', stop);
  await watcher.stopPanel();
  if (!options.json) say(watcher.farewell(), night);
}

/** What a running watch holds between frames. */
class Watching {
  private night: Night | null = null;
  private session: Session | null;
  /** Null until the first frame says which session it goes into. */
  private open: OpenRecord | null = null;
  /** What could not be recorded yet. */
  private unrecorded: readonly ToRecord[] = [];
  private reference: Reference | null = null;
  private camera: KnownCamera | null = null;
  private answered: readonly FrameStars[] = [];
  private memory: Buffer | undefined;
  private panel: WatchPanel | null = null;
  private readonly red: boolean;

  constructor(private readonly folder: string, private readonly options: WatchOptions, private readonly given: Given) {
    this.red = options.night ?? false;
    this.session = sessionThere(this.sessionRequest());
    if (this.session) this.camera = cameraOf(this.session);
  }

  greeting(): string {
    const looks = this.session ? entriesOf(this.session.recorded, 'look').length : 0;
    return greetingText({
      folder: this.folder, frames: framesIn(this.folder), looks, ...this.standing(), all: this.options.all ?? false, next: this.firstStep(),
    }, textWidth());
  }

  /** Where the night of the record stands. */
  private standing(): { lastUtc: string | null; off: string | null } {
    const night = this.recordedNight();
    const last = night?.looks.at(-1) ?? null;
    const answer = night && answerAt(night, this.given.aim);
    const off = answer ? `${arcminutes(aimedError(answer.axis).separation, answer.axis.sigma.separation)} off` : null;
    return { lastUtc: last?.utc ?? null, off };
  }

  private recordedNight(): Night | null {
    const { session } = this;
    if (!session) return null;
    const site = siteInForce(this.given, [], session.start.site);
    return nightBefore({ outcomes: [], known: [], site }, session, null);
  }

  private firstStep(): string {
    const looks = this.session ? entriesOf(this.session.recorded, 'look').length : 0;
    return this.standing().off === null ? nextWithoutAnswer(looks).words : 'Turn a knob or the mount, save a frame.';
  }

  farewell(): string {
    if (this.options.session === false) return 'Watch ended. Nothing was recorded.';
    if (this.unrecorded.length > 0) return wrap(`Watch ended. ${this.unrecorded.length} frames could not be recorded: read the `
      + `answers above again if you need them.`, textWidth(), '  ');
    const path = this.open?.path ?? this.session?.path;
    if (path === undefined || path === null) return 'Watch ended. There was nothing to record.';
    return `Watch ended. To see the night:\n  poleward log --session ${quoted(path)}`;
  }

  /** Serves the panel if it was asked for. */
  async startPanel(): Promise<void> {
    if (!this.options.panel && !this.options.panelOpen) return;
    const { startWatchPanel } = await import('./watchPanel.js');
    const limit = limitFor(this.options, this.given);
    this.panel = await startWatchPanel(this.options, this.given, this.session, this.firstStep(), limit);
  }

  async stopPanel(): Promise<void> {
    await this.panel?.stop();
  }

  /** Answers the files that have come, in the order of time; a person is shown the newest first. */
  async take(files: readonly string[]): Promise<void> {
    const results: FrameResult[] = [];
    for (const file of files) results.push(clockCorrected(await this.starsOf(file), this.given));
    this.refuseSeen(results);
    const found = results.filter((r): r is FrameStars => 'stars' in r);
    const site = siteInForce(this.given, found.length > 0 ? found : [], this.session?.start.site ?? null);
    const { outcomes, recognition } = identifyFrames(results, this.referenceAt(site), startRecognition(this.camera));
    this.camera = recognition.camera;
    for (const { trouble } of outcomes) if (trouble) this.trouble(trouble.code, worded(trouble));
    const known = outcomes.flatMap((o) => (o.known ? [o.known] : [])).sort((a, b) => a.sky.time.getTime() - b.sky.time.getTime());
    const answers: (() => void)[] = [];
    for (const frame of known) answers.push(await this.answer(frame, site));
    // A person wants the newest first, a program the order of the night.
    for (const show of this.options.json ? answers : answers.reverse()) show();
    this.panel?.refresh();
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
      const frames = seen([{ known: frame }], site);
      this.openFor(frames);
      const remembered = this.session ? null : rememberedFor(frames, this.folder, this.given, this.options);
      const before = this.night ?? nightBefore(frames, this.session, remembered);
      const done = this.doneBefore(before, frame);
      const added = addFrames(frames, before, { before: saidOf(done.turned), turnedOnly: false });
      if (added.aside.length > 0) return this.setAside(before, frame, site, added);
      if (added.given.every(({ news }) => news === 'known')) return () => this.show(`${name}: in the night's record already`);
      this.night = added.night;
      return await this.answerAdded(frames, before, added, done);
    } catch (error) {
      if (!(error instanceof PolewardError)) throw error;
      return () => this.trouble(error.code, error.message.includes(name) ? worded(error) : `${name}: ${worded(error)}`);
    }
  }

  private async answerAdded(frames: ReturnType<typeof seen>, before: Night, added: Added, done: Done): Promise<() => void> {
    const { night, given } = added;
    const last = night.looks.length - 1;
    const happened = happenedBefore(night, last, this.given.aim);
    const lead = leadText(night.looks[last]!.utc, given[0]!.news === 'late' ? night.looks[last]!.file : given[0]!.known.frame.file, happened, textWidth());
    const answer = answerAt(night, this.given.aim);
    if (!answer) {
      const next = nextWithoutAnswer(night.looks.length).words;
      const said = await this.keep({
        site: sessionSite(frames.site), hemisphere: hemisphereSeen(frames), rig: rigName(this.given.rigFile), remembered: night.setting.anchor, before: [], looks: given, answer: null,
      });
      this.panel?.nothingYet(happened, next);
      return () => { this.show(nothingYetText(lead, next, textWidth())); this.notice(said); };
    }
    const measured = measuredBy(frames, before, added, answer, { ...this.given, today: new Date() });
    const { toRecord, ...found } = answerOf(measured, this.given, this.session, done, this.options);
    const notice = await this.keep(toRecord);
    this.panel?.answer({ ...found, notice }, happened);
    return () => this.showAnswer(lead, happened, { ...found, notice });
  }

  /** A frame of another camera or night: before there is an answer a night begins anew with it. */
  private async setAside(before: Night, frame: KnownFrame, site: SiteInForce | null, { aside }: Added): Promise<() => void> {
    const [trouble] = aside;
    if (before.answers.some(({ axis }) => axis !== null)) return () => this.trouble(trouble!.code, worded(trouble!));
    this.night = null;
    this.session = null;
    this.open = null;
    this.camera = null;
    const show = await this.answer(frame, site);
    return () => {
      warn(wrap(`${worded(trouble!)} A night begins anew with it.`, textWidth(), '  '), this.red);
      show();
    };
  }

  /** Finds the session that the first frame goes into. */
  private openFor(frames: ReturnType<typeof seen>): void {
    if (this.open) return;
    const belongs = this.session !== null && whyNotOf(this.session, whereAndWhen(frames)) === null;
    this.open = openForFrames({ ...this.sessionRequest(), newSession: this.options.newSession || (this.session !== null && !belongs && this.options.session === undefined) }, whereAndWhen(frames));
    if (!belongs) this.session = null;
  }

  /** What the person is taken to have done before a frame. */
  private doneBefore(before: Night, frame: KnownFrame): Done {
    if (!this.options.followed || !this.session || before.looks.length === 0) return NOTHING_DONE;
    // Only where a knob was turned: that shows without being told.
    const told = addFrames(seen([{ known: frame }], null), before, { before: undefined, turnedOnly: false });
    if (told.night.answers.at(-1)?.happened !== 'knob') return NOTHING_DONE;
    const rig = this.given.rigFile?.rig ?? null;
    const advised = adviceBefore(knobHistory(this.session, rigName(this.given.rigFile)), rig);
    return { turned: followedTurns(advised), advised };
  }

  /** Records, with what could not be recorded before; what can't be is kept and tried again with the next frame. */
  private async keep(fresh: ToRecord): Promise<Notice | null> {
    let said: Notice | null = null;
    const waiting = [...this.unrecorded, fresh];
    while (waiting.length > 0) {
      const result = await record(this.open!, waiting[0]!);
      said = result.said;
      if (!result.kept) break;
      waiting.shift();
    }
    this.unrecorded = waiting;
    // What the person must be told of the place, once.
    if (waiting.length === 0) this.open = { ...this.open!, said: null };
    this.session = this.open!.path === null ? null : sessionThere({ session: this.open!.path, folder: this.folder }) ?? this.session;
    return said;
  }

  private sessionRequest(): { session: string | false | undefined; newSession: boolean | undefined; folder: string } {
    const { session, newSession } = this.options;
    return { session, newSession, folder: this.folder };
  }

  private showAnswer(lead: string, happened: HappenedBefore, { measured, guidance, said, record: json, notice }: Answered): void {
    if (this.options.json) {
      sayLine({ ...wordedRecord(json), taken: happened.what, ...(notice ? { recorded: worded(notice) } : {}) });
      return;
    }
    this.show(newFrameText(lead, measured, guidance, said, styleOf(this.options, () => '')));
    sayWarnings(measured.warnings, this.red);
    this.notice(notice);
  }

  private notice(notice: Notice | null): void {
    if (notice) warn(wrap(worded(notice), textWidth(), '  '), this.red);
  }

  private show(text: string): void {
    if (this.options.json) sayLine({ schema: 'poleward/watch-1', message: text });
    else say(`\n${text}`, this.red);
  }

  private trouble(code: ErrorCode, message: string): void {
    this.panel?.unusable(code);
    warn(wrap(message, textWidth(), '  '), this.red);
  }

  /** Reads a frame, again while it looks as if it were still being written. */
  private async starsOf(file: string): Promise<FrameResult> {
    let told = false;
    for (const begin = Date.now(); ;) {
      const size = statSync(file, { throwIfNoEntry: false })?.size ?? 0;
      if (size > (this.memory?.length ?? 0) && size < 2 ** 30) this.memory = Buffer.allocUnsafeSlow(size);
      const result = await starsOfFile(file, {
        ...clockZone(this.given), ...(this.memory ? { memory: this.memory } : {}),
      });
      const unfinished = 'code' in result && (result.code === 'file-truncated' || result.code === 'not-an-image');
      if (!unfinished || Date.now() - begin > PATIENCE_MS) return result;
      if (!told && Date.now() - begin > PATIENCE_MS / 10) {
        told = true;
        this.show(`${basename(file)}: incomplete, waiting`);
      }
      await new Promise((resolveWait) => { setTimeout(resolveWait, 100); });
    }
  }

  /** What frames are recognised by; where the site is another than before, recognition begins anew. */
  private referenceAt(site: SiteInForce | null): Reference {
    const now = site?.site ?? null;
    if (this.reference && JSON.stringify(this.reference.site) === JSON.stringify(now)) return this.reference;
    if (this.reference) this.camera = this.session ? cameraOf(this.session) : null;
    this.reference = makeReference(now, this.given, embeddedCatalogue());
    return this.reference;
  }
}

function framesIn(folder: string): number {
  try {
    return readdirSync(folder).filter((name) => hasFrameEnding(name)).length;
  } catch {
    return 0;
  }
}

/** A path as a shell takes it. */
function quoted(path: string): string {
  const whole = resolve(path);
  return /^[\w@%+=:,./\\-]+$/.test(whole) ? whole : `"${whole}"`;
}

