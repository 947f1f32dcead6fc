import { existsSync, readdirSync } from 'node:fs';
import { basename, resolve } from 'node:path';
import { type ErrorCode, PolewardError } from '../error.js';
import { hasFrameEnding } from '../frames/frameEndings.js';
import { followedTurns } from '../knobs/parseTurned.js';
import { type HappenedBefore, happenedBefore } from '../night/happenings.js';
import { type Night, answerAt, withoutLook } from '../night/night.js';
import { damageWarnings } from '../night/record/damage.js';
import { whyNotOf } from '../night/record/checkSession.js';
import { entriesOf } from '../night/record/entry.js';
import { cameraOf } from '../night/record/nightOfSession.js';
import type { Session } from '../night/record/session.js';
import { nextWithoutAnswer } from '../night/said.js';
import { inSteps } from '../node/breathe.js';
import { knobHistory } from '../node/earlierSessions.js';
import { embeddedCatalogue } from '../node/embeddedCatalogue.js';
import { fileTimesOf } from '../node/fileTimes.js';
import { frameMemory } from '../node/frameMemory.js';
import { type FolderTrouble, type NewFrame, NewFrames } from '../node/newFrames.js';
import {
  type OpenRecord, type Recorded, type ToRecord, openForFrames, record, sessionSite, sessionThere, whereAndWhen,
} from '../node/nightRecord.js';
import { starsOfFile } from '../node/starsOfFile.js';
import type { LockPatience } from '../node/sessionLock.js';
import { WholeFrames } from '../node/wholeFrames.js';
import { printable } from '../printable.js';
import type { Notice } from '../remedy.js';
import { type Given, clockZone } from '../tasks/given/given.js';
import { rigName } from '../tasks/given/rigInForce.js';
import { type SiteInForce, siteWithAzimuth } from '../tasks/given/siteInForce.js';
import { adviceBefore } from '../tasks/measure/guidance.js';
import { saidOf } from '../tasks/measure/happened.js';
import { type Added, addFrames, measuredBy, nightBefore } from '../tasks/measure/measureFrames.js';
import { hemisphereSeen, seen } from '../tasks/measure/seeFrames.js';
import { type StandingAnswer, standingAnswer } from '../tasks/measure/standingAnswer.js';
import { type FrameResult, type FrameStars, clockCorrected } from '../tasks/recognise/frameStars.js';
import { identifyFrames, notIdentified, unusable } from '../tasks/recognise/identifyFrames.js';
import {
  type KnownCamera, type KnownFrame, type Recognition, type Reference, makeReference, recogniseSteps, startRecognition,
} from '../tasks/recognise/recognition.js';
import { samePictures } from '../tasks/recognise/samePictures.js';
import { timed, timesOfFiles } from '../tasks/recognise/timesGiven.js';
import { greetingText, leadText, newFrameText, nothingYetText } from '../tasks/watch/watchText.js';
import { wrap } from '../tasks/words/numberWords.js';
import { aboutFrame } from '../tasks/words/whereText.js';
import { type Answered, type Done, NOTHING_DONE, answerOf, limitFor } from './answerFrames.js';
import { givenFor } from './given.js';
import { rememberedFor } from './remembered.js';
import { worded } from './remedyWords.js';
import { styleOf, wordedRecord } from './showMeasured.js';
import type { WatchSays } from './watchFront.js';
import type { WatchOptions } from './watchOptions.js';
import { WatchViews } from './watchViews.js';

/** Number of frames kept to recognise a copy, of those answered and of those not recognised. */
const MOST_ANSWERED = 50;
/** Of many files at once this many are answered first, the newest; then twice as many at a time. */
const FIRST_FILES = 16;
/**
 * A search that takes longer than this waits while there are other frames; ms of processor time, so that a busy machine changes nothing.
 */
const SEARCH_MS = 500;
/** Frames that may wait for their search; beyond that the oldest is given up. */
const MOST_SEARCHES = 20;
/** Time between attempts to record what could not be recorded, ms. */
const RETRY_MS = 5000;
/** The longest wait for a record that another process has locked: the answer waits with it, and recording is tried again later. */
const RECORD_PATIENCE: LockPatience = { milliseconds: 300, emptyMilliseconds: 150 };

/** A frame whose stars are not recognised yet, and the state of its search. */
interface Search {
  readonly frame: FrameStars;
  readonly camera: KnownCamera | null;
  readonly steps: Generator<null, Recognition>;
}

/** What a running watch knows, and what it does with each frame. All output goes through `front`. */
export class Watching {
  private readonly given: Given;
  private readonly frames: NewFrames;
  private readonly whole: WholeFrames;
  private readonly views: WatchViews;
  /** What the recorded night said when the watch began. */
  private readonly standing: StandingAnswer | null;
  private night: Night | null = null;
  private session: Session | null;
  /** Null until the first frame shows which session it belongs to. */
  private open: OpenRecord | null = null;
  /** What could not be recorded yet, and when to try again. */
  private unrecorded: readonly ToRecord[] = [];
  private retryAt = Infinity;
  private reference: Reference | null = null;
  private camera: KnownCamera | null = null;
  private answered: readonly FrameStars[] = [];
  /** Frames that were not recognised with the lens that is known: a copy of one is not searched again. */
  private inVain: readonly FrameStars[] = [];
  /** The moment of the look that each file gave. */
  private readonly looks = new Map<string, string>();
  /** Files that are complete and not read yet, the oldest first, and how many are taken together. */
  private backlog: NewFrame[] = [];
  private together = FIRST_FILES;
  private searches: Search[] = [];
  /** Lines of the record that could not be read and were reported. */
  private damage = '';
  /** When each file was written, where that is asked for. */
  private readonly written = new Map<string, Date>();
  private memory: Buffer | undefined;
  private stopped = false;

  constructor(
    private readonly folder: string, private readonly options: WatchOptions, private readonly width: number,
    private readonly front: (says: WatchSays) => void,
  ) {
    this.given = givenFor(options, folder);
    this.session = sessionThere(this.sessionRequest());
    if (this.session) this.camera = cameraOf(this.session);
    this.standing = this.standingAnswer();
    this.views = WatchViews.start(this.standing, nextWithoutAnswer(this.recordedLooks()).words, limitFor(options, this.given));
    this.frames = new NewFrames(folder, options.poll ?? false, (trouble) => this.folderIs(trouble));
    this.whole = new WholeFrames((path) => this.starsOf(path), (path) => this.show(`${basename(path)}: incomplete, waiting`));
  }

  /** Sends what a panel shows at first. */
  begin(): void {
    this.front({ kind: 'begun', view: this.views.view });
    this.front({ kind: 'farewell', text: this.farewell() });
  }

  stop(): void {
    this.stopped = true;
    this.frames.stop();
  }

  /** Answers frames as they come until it is stopped. */
  async run(): Promise<void> {
    await this.frames.start(this.options.all ?? false);
    if (this.options.json) this.line({ schema: 'poleward/watch-1', message: 'ready' });
    else this.front({ kind: 'say', text: this.greeting() });
    if (this.session) this.sayDamage(this.session);
    while (!this.stopped) {
      const fresh = await this.frames.next(this.patience());
      if (fresh === null) break;
      await this.work(fresh);
    }
    await this.recordWaiting();
  }

  private patience(): number {
    if (this.backlog.length > 0 || this.searches.length > 0) return 0;
    return Math.max(0, Math.min(this.whole.patience(), this.retryAt - performance.now(), 60_000));
  }

  /** Does the most urgent work: the newest file, then the other new files, then long searches. */
  private async work(fresh: readonly NewFrame[]): Promise<void> {
    const burst = this.backlog.length === 0;
    if (burst) this.together = FIRST_FILES;
    const age = (a: NewFrame, b: NewFrame): number => a.modifiedMs - b.modifiedMs || (a.path < b.path ? -1 : 1);
    const sorted = [...fresh].sort(age);
    const now = sorted.splice(Math.max(0, sorted.length - FIRST_FILES));
    this.backlog.push(...sorted);
    this.backlog.sort(age);
    const overdue = await this.whole.overdue();
    if (now.length > 0 || overdue.length > 0) {
      await this.take([...overdue, ...await this.read(now)], false);
    } else if (this.backlog.length > 0) {
      this.together *= 2;
      await this.take(await this.read(this.backlog.splice(Math.max(0, this.backlog.length - this.together))), true);
    } else if (this.searches.length > 0) {
      await this.search();
    } else if (performance.now() >= this.retryAt) {
      await this.recordWaiting();
    }
  }

  private async read(files: readonly NewFrame[]): Promise<FrameResult[]> {
    const results: FrameResult[] = [];
    for (const { path } of files) {
      if (this.stopped) break;
      const result = await this.whole.take(path);
      if (result) results.push(result);
    }
    return results;
  }

  private folderIs(trouble: FolderTrouble | null): void {
    const name = printable(this.folder);
    const words = trouble === null ? `The folder ${name} can be read again: the watch goes on.`
      : `The folder ${name} ${FOLDER_WORDS[trouble]}. The watch goes on once it can be read.`;
    if (trouble === null) this.show(words);
    else this.warn(words);
    this.views.folder(trouble !== null);
    this.refresh();
  }

  /** Reports once what can't be read of a record. */
  private sayDamage(session: Session): void {
    const lines = `${session.path} ${session.warnings.map(({ line }) => line).join(' ')}`;
    if (session.warnings.length === 0 || this.damage === lines) return;
    this.damage = lines;
    for (const { message } of damageWarnings(session)) this.warn(`warning: ${message}`);
  }

  private greeting(): string {
    return greetingText({
      folder: this.folder, frames: framesIn(this.folder), looks: this.recordedLooks(), all: this.options.all ?? false,
      lastUtc: this.session && (entriesOf(this.session.recorded, 'look').at(-1)?.entry.look.utc ?? null),
    }, this.standing, nextWithoutAnswer(this.recordedLooks()).words, { ...styleOf(this.options, () => ''), width: this.width });
  }

  private recordedLooks(): number {
    return this.session ? entriesOf(this.session.recorded, 'look').length : 0;
  }

  /** What the recorded night says before the first frame; null where it gives no answer. */
  private standingAnswer(): StandingAnswer | null {
    const { session, given } = this;
    if (!session) return null;
    const site = siteWithAzimuth(given, [], session.start.site);
    const night = nightBefore({ outcomes: [], known: [], site }, session, null);
    const { earlier } = knobHistory(session, rigName(given.rigFile));
    return standingAnswer(session, night, { ...given, site, earlier, limit: limitFor(this.options, given) });
  }

  private farewell(): string {
    if (this.options.session === false) return 'Watch ended. Nothing was recorded.';
    if (this.unrecorded.length > 0) return wrap(`Watch ended. ${this.unrecorded.length} frames could not be recorded: read the `
      + `answers above again if you need them.`, this.width, '  ');
    const path = this.open?.path ?? this.session?.path;
    if (path === undefined || path === null) return 'Watch ended. There was nothing to record.';
    return `Watch ended. To see the night:\n  poleward log --session ${quoted(path)}`;
  }

  /**
   * Answers frames that were read, in the order of time; a person is shown the newest first.
   *
   * @param together they are older than what was answered already: one answer is enough for all
   */
  private async take(read: readonly FrameResult[], together: boolean, before: Recognition = startRecognition(this.camera)): Promise<void> {
    if (read.length === 0) return;
    const results = [...read];
    this.forgetReplaced(results);
    this.refuseSeen(results);
    const found = results.filter((r): r is FrameStars => 'stars' in r);
    const site = siteWithAzimuth(this.given, found, this.session?.start.site ?? null);
    const reference = this.referenceAt(site);
    const recognised = await this.recogniseAll(results, reference, before);
    const { outcomes, recognition } = identifyFrames(recognised.results, reference, recognised.recognition);
    if (recognition.camera?.lens !== this.camera?.lens) this.inVain = [];
    this.camera = recognition.camera;
    for (const outcome of outcomes) {
      if (!outcome.trouble) continue;
      const { trouble, frame } = outcome;
      this.trouble(trouble.code, worded(trouble));
      if (frame && trouble.code === 'not-identified') this.inVain = [...this.inVain, frame].slice(-MOST_ANSWERED);
    }
    const known = outcomes.flatMap((o) => (o.known ? [o.known] : [])).sort((a, b) => a.sky.time.getTime() - b.sky.time.getTime());
    const answers: (() => void)[] = [];
    for (const frames of together && known.length > 0 ? [known] : known.map((k) => [k])) answers.push(await this.answer(frames, site));
    // A person wants the newest first, a program the order of the night.
    for (const show of this.options.json ? answers : answers.reverse()) show();
    this.refresh();
  }

  /** Recognises frames as far as that is quick; long searches wait until there is nothing else to do. */
  private async recogniseAll(
    results: readonly FrameResult[], reference: Reference, before: Recognition,
  ): Promise<{ readonly results: FrameResult[]; readonly recognition: Recognition }> {
    let recognition = before;
    const left: FrameResult[] = [];
    for (const [i, frame] of results.entries()) {
      if (!('stars' in frame) || unusable(frame, this.given.longitudeDeg?.value ?? null)) {
        left.push(frame);
        continue;
      }
      const steps = recogniseSteps(reference, recognition, frame);
      // Counted from the start of the search: before it the catalogue may have to be prepared.
      let begun: number | null = null;
      const others = i < results.length - 1 || this.backlog.length > 0;
      const done = await inSteps(steps, async () => {
        begun ??= processorMs();
        return this.stopped || (processorMs() - begun > SEARCH_MS && (others || await this.othersWait()));
      });
      if (!done) {
        // Frames that wait longer start again later: each search in progress keeps stars of half the sky in memory.
        const waiting = this.searches.map((other) => this.searchFor(other.frame, other.camera));
        this.searches = [...waiting, { frame, camera: recognition.camera, steps }];
      } else if (done.value.refusal) {
        this.trouble(done.value.refusal.code, worded(done.value.refusal));
      } else {
        recognition = done.value;
        left.push(frame);
      }
    }
    for (const { frame } of this.searches.splice(0, Math.max(0, this.searches.length - MOST_SEARCHES))) {
      const trouble = notIdentified(frame);
      this.trouble(trouble.code, worded(trouble));
    }
    return { results: left, recognition };
  }

  private async othersWait(): Promise<boolean> {
    return this.stopped || this.whole.patience() <= 0 || this.frames.wait();
  }

  /** Goes on with the newest search until it ends or other frames wait. */
  private async search(): Promise<void> {
    const { frame, camera, steps } = this.searches.pop()!;
    // If the camera is known by now, starting again is quicker.
    const fresh = camera === null && this.camera !== null && this.reference !== null;
    const search = fresh ? this.searchFor(frame, this.camera) : { frame, camera, steps };
    const done = await inSteps(search.steps, () => this.othersWait());
    if (!done) this.searches.push(search);
    else await this.take([frame], false, { ...done.value, camera: this.camera ?? done.value.camera });
  }

  private searchFor(frame: FrameStars, camera: KnownCamera | null): Search {
    return { frame, camera, steps: recogniseSteps(this.reference!, startRecognition(camera), frame) };
  }

  /** Removes pictures that were seen before: a file that was touched without a change, or a copy. */
  private refuseSeen(results: FrameResult[]): void {
    const seenBefore = [...this.answered, ...this.inVain, ...this.searches.map(({ frame }) => frame)];
    for (const [result, trouble] of samePictures([...seenBefore, ...results])) {
      const at = results.indexOf(result);
      if (at < 0) continue;
      results.splice(at, 1);
      if (!seenBefore.some(({ file }) => file === result.file)) this.trouble(trouble.code, worded(trouble));
    }
  }

  /** A file that was answered and has changed since is not a copy of itself. */
  private forgetReplaced(results: readonly FrameResult[]): void {
    const changed = new Set(results.map(({ file }) => file));
    const unlike = (a: FrameStars): boolean => !results.some((r) => r.file === a.file && samePictures([a, r]).size > 0);
    this.answered = this.answered.filter((a) => !changed.has(a.file) || !unlike(a));
  }

  /** Takes frames, records what they give, and returns what is to be shown. */
  private async answer(known: readonly KnownFrame[], site: SiteInForce | null): Promise<() => void> {
    const [frame] = known as [KnownFrame];
    const name = basename(frame.frame.file);
    this.answered = [...this.answered, ...known.map((k) => k.frame)].slice(-MOST_ANSWERED);
    try {
      const frames = seen(known.map((k) => ({ known: k })), site);
      this.openFor(frames);
      const remembered = this.session ? null : rememberedFor(frames, this.folder, this.given, this.options);
      const all = this.night ?? nightBefore(frames, this.session, remembered);
      const replaces = known.length === 1 ? this.replacedBy(all, frame) : null;
      const before = replaces === null ? all : withoutLook(all, replaces);
      const done = known.length === 1 ? this.doneBefore(before, frame) : NOTHING_DONE;
      const added = addFrames(frames, before, { before: saidOf(done.turned), turnedOnly: false });
      if (added.aside.length > 0 && known.length === 1) return this.setAside(before, frame, site, added);
      if (added.given.every(({ news }) => news === 'known')) {
        const names = known.map((k) => basename(k.frame.file)).join(', ');
        return () => { this.show(`${names}: in the night's record already`); this.sayAside(added); };
      }
      for (const { known: k } of added.given) this.looks.set(k.frame.file, k.sky.time.toISOString());
      this.night = added.night;
      const show = await this.answerAdded(frames, before, added, done, replaces);
      return () => {
        if (replaces !== null) this.show(`${name} has changed since it was read: its look is replaced.`);
        show();
        if (known.length > 1) this.sayAside(added);
      };
    } catch (error) {
      if (!(error instanceof PolewardError)) throw error;
      return () => this.trouble(error.code, error.message.includes(name) ? worded(error) : `${name}: ${worded(error)}`);
    }
  }

  /** The time of the look that a file gave before it changed; null where it gave none, or was another exposure. */
  private replacedBy({ looks }: Night, { frame, sky }: KnownFrame): string | null {
    const utc = this.looks.get(frame.file);
    const same = utc === sky.time.toISOString() && looks.some((l) => l.utc === utc);
    return same ? utc : null;
  }

  private sayAside({ aside }: Added): void {
    for (const trouble of aside) this.trouble(trouble.code, worded(trouble));
  }

  private async answerAdded(
    frames: ReturnType<typeof seen>, before: Night, added: Added, done: Done, replaces: string | null,
  ): Promise<() => void> {
    const { night, given } = added;
    const last = night.looks.length - 1;
    const happened = happenedBefore(night, last, this.given.aim);
    const lead = leadText(night.looks[last]!.utc, night.looks[last]!.file, happened, this.width);
    const replacing = replaces === null ? {} : { replaces };
    const answer = answerAt(night, this.given.aim);
    if (!answer) {
      const next = nextWithoutAnswer(night.looks.length).words;
      const about = aboutFrame(frames.known.at(-1)!);
      const { said, kept } = await this.keep({
        site: sessionSite(frames.site), hemisphere: hemisphereSeen(frames), rig: rigName(this.given.rigFile),
        remembered: night.setting.anchor, before: [], looks: given, answer: null, ...replacing,
      }, frames);
      this.views.nothingYet(happened, next, kept);
      return () => {
        this.show(nothingYetText(lead, about, next, this.width), said);
        if (!this.options.json) this.notice(said);
      };
    }
    const measured = measuredBy(frames, before, added, answer, { ...this.given, today: new Date() });
    const { toRecord, ...found } = answerOf(measured, this.given, this.session, done, this.options);
    const { said: notice, kept } = await this.keep({ ...toRecord, ...replacing }, frames);
    this.views.answer({ ...found, notice }, happened, kept);
    return () => this.showAnswer(lead, happened, { ...found, notice });
  }

  /** A frame of another camera or night: before there is an answer, a new night begins with it. */
  private async setAside(before: Night, frame: KnownFrame, site: SiteInForce | null, { aside }: Added): Promise<() => void> {
    const [trouble] = aside;
    const stays = trouble!.code === 'same-moment' || before.answers.some(({ axis }) => axis !== null);
    if (stays) return () => this.trouble(trouble!.code, worded(trouble!));
    this.night = null;
    this.session = null;
    this.open = null;
    this.camera = null;
    const show = await this.answer([frame], site);
    return () => {
      this.warn(`${worded(trouble!)} A new night begins with it.`);
      show();
    };
  }

  /** Finds the session that the first frame goes into. */
  private openFor(frames: ReturnType<typeof seen>): void {
    if (this.open) return;
    const belongs = this.session !== null && whyNotOf(this.session, whereAndWhen(frames)) === null;
    const newSession = this.options.newSession || (this.session !== null && !belongs && this.options.session === undefined);
    this.open = openForFrames({ ...this.sessionRequest(), newSession }, whereAndWhen(frames));
    if (!belongs) this.session = null;
  }

  /** What the person is assumed to have done before a frame. */
  private doneBefore(before: Night, frame: KnownFrame): Done {
    if (!this.options.followed || !this.session || before.looks.length === 0) return NOTHING_DONE;
    // Only where a knob was turned: the frames show that by themselves.
    const told = addFrames(seen([{ known: frame }], null), before, { before: undefined, turnedOnly: false });
    if (told.night.answers.at(-1)?.happened !== 'knob') return NOTHING_DONE;
    const rig = this.given.rigFile?.rig ?? null;
    const advised = adviceBefore(knobHistory(this.session, rigName(this.given.rigFile)), rig);
    return { turned: followedTurns(advised), advised };
  }

  /** Records this, with all that could not be recorded before; what fails again is kept and tried later. */
  private async keep(fresh: ToRecord, frames: ReturnType<typeof seen>): Promise<Pick<Recorded, 'said' | 'kept'>> {
    // There was no place to record at: perhaps there is now.
    if (this.open?.path === null && this.open.said !== null) this.open = openForFrames(this.sessionRequest(), whereAndWhen(frames));
    this.unrecorded = [...this.unrecorded, ...this.lostRecord(fresh), fresh];
    return this.recordAll();
  }

  /** What was recorded, to be recorded again where the file is gone: with its folder, for example. */
  private lostRecord(like: ToRecord): ToRecord[] {
    const { session } = this;
    if (!session || this.open?.path !== session.path || existsSync(session.path)) return [];
    const before = session.recorded.flatMap(({ entry }) => (entry.kind === 'start' ? [] : [entry]));
    return [{ ...like, before, looks: [], answer: null }];
  }

  private async recordAll(): Promise<Pick<Recorded, 'said' | 'kept'>> {
    let said: Notice | null = null;
    const waiting = [...this.unrecorded];
    while (waiting.length > 0) {
      const result = await record(this.open!, waiting[0]!, RECORD_PATIENCE);
      said = result.said;
      if (!result.kept) break;
      waiting.shift();
      // Another process may have taken the name; and the place is reported once.
      this.open = { ...this.open!, path: result.path, said: null, isNew: false };
    }
    this.unrecorded = waiting;
    this.retryAt = waiting.length > 0 ? performance.now() + RETRY_MS : Infinity;
    const { path } = this.open!;
    this.session = path === null ? null : sessionThere({ session: path, folder: this.folder }) ?? this.session;
    if (this.session) this.sayDamage(this.session);
    this.front({ kind: 'farewell', text: this.farewell() });
    return { said, kept: waiting.length === 0 };
  }

  /** Tries to record what could not be recorded. */
  private async recordWaiting(): Promise<void> {
    if (this.unrecorded.length === 0 || !this.open?.path) {
      this.retryAt = Infinity;
      return;
    }
    const { kept } = await this.recordAll();
    if (!kept) return;
    this.show('What could not be recorded is recorded now.');
    this.views.recorded();
    this.refresh();
  }

  private sessionRequest(): { session: string | false | undefined; newSession: boolean | undefined; folder: string } {
    const { session, newSession } = this.options;
    return { session, newSession, folder: this.folder };
  }

  private showAnswer(lead: string, happened: HappenedBefore, { measured, guidance, said, record: json, notice }: Answered): void {
    if (this.options.json) {
      this.line({ ...wordedRecord(json), taken: happened.what, ...(notice ? { recorded: worded(notice) } : {}) });
      return;
    }
    this.show(newFrameText(lead, measured, guidance, said, { ...styleOf(this.options, () => ''), width: this.width }));
    for (const warning of measured.warnings) this.warn(`warning: ${worded(warning)}`);
    this.notice(notice);
  }

  private notice(notice: Notice | null): void {
    if (notice) this.warn(worded(notice));
  }

  /** @param notice where it was recorded or why not: part of the line for a program */
  private show(text: string, notice: Notice | null = null): void {
    if (this.options.json) this.line({ schema: 'poleward/watch-1', message: text, ...(notice ? { recorded: worded(notice) } : {}) });
    else this.front({ kind: 'say', text: `\n${text}` });
  }

  private line(value: unknown): void {
    // As JSON would have it, without values that can't be sent from thread to thread.
    this.front({ kind: 'line', value: JSON.parse(JSON.stringify(value)) });
  }

  private warn(text: string): void {
    this.front({ kind: 'warn', text: wrap(text, this.width, '  ') });
  }

  private trouble(code: ErrorCode, message: string): void {
    this.views.unusable(code);
    this.warn(message);
  }

  private refresh(): void {
    this.front({ kind: 'view', view: this.views.view });
  }

  private async starsOf(file: string): Promise<FrameResult> {
    this.memory = frameMemory(file, this.memory);
    const read = await starsOfFile(file, { ...clockZone(this.given), ...(this.memory ? { memory: this.memory } : {}) });
    return clockCorrected(this.options.fileTimes ? this.timedByFile(file, read) : read, this.given);
  }

  /** With its file's time where it has none; that time is compared with the times of the earlier files. */
  private timedByFile(file: string, read: FrameResult): FrameResult {
    this.written.delete(file);
    this.written.set(file, fileTimesOf([file])[0]!);
    const files = [...this.written.keys()];
    return timed(read, timesOfFiles(files, [...this.written.values()]), files.length - 1);
  }

  /** What frames are recognised by; where the site has changed, recognition starts again. */
  private referenceAt(site: SiteInForce | null): Reference {
    const now = site?.site ?? null;
    if (this.reference && JSON.stringify(this.reference.site) === JSON.stringify(now)) return this.reference;
    if (this.reference) this.camera = this.session ? cameraOf(this.session) : null;
    this.reference = makeReference(now, this.given, embeddedCatalogue());
    return this.reference;
  }
}

const FOLDER_WORDS: Readonly<Record<FolderTrouble, string>> = {
  'gone': 'is gone', 'not permitted': 'may not be read by this user', 'failed': 'can\'t be read',
};

/** Processor time that this process has used so far. */
function processorMs(): number {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
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
