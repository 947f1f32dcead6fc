import { attempt, PolewardError } from '../../error.js';
import type { FrameDecoders } from '../../frames/decoders.js';
import type { Adjustment, KnobTurned } from '../../knobs/learnedKnobs.js';
import { type Night, answerAt, withoutLook } from '../../night/night.js';
import { whyNotOf } from '../../night/record/checkSession.js';
import { entriesOf } from '../../night/record/entry.js';
import { cameraOf } from '../../night/record/nightOfSession.js';
import { rememberedCamera } from '../../night/record/rememberedCamera.js';
import type { Session } from '../../night/record/session.js';
import { printable } from '../../printable.js';
import { type Notice, withRemedies } from '../../remedy.js';
import { type Given, clockZone } from '../../tasks/given/given.js';
import { rigName } from '../../tasks/given/rigInForce.js';
import { type Answer, type AnswerRequest, type Done, answerOf } from '../../tasks/measure/answer.js';
import { adjustmentsIn, adviceBefore } from '../../tasks/measure/guidance.js';
import { happened, saidOf } from '../../tasks/measure/happened.js';
import { type Added, addFrames, measured, measuredBy, nightBefore, requireLowEnough } from '../../tasks/measure/measureFrames.js';
import { assumedText } from '../../tasks/measure/measurementText.js';
import { type SeenFrames, hemisphereSeen, seeFrames } from '../../tasks/measure/seeFrames.js';
import { type ToRecord, beginningOf, entriesToRecord, sessionSite, whereAndWhen } from '../../tasks/measure/toRecord.js';
import type { FrameResult, FrameStars } from '../../tasks/recognise/frameStars.js';
import { samePictures } from '../../tasks/recognise/samePictures.js';
import { timed } from '../../tasks/recognise/timesGiven.js';
import type { Database } from '../keep/database.js';
import { type KeptNight, newNight, sessionOf, withEntries, withoutLastLook } from '../keep/keptNight.js';
import { FIRST_SETTINGS, type Settings } from '../keep/settings.js';
import type { CameBy, NightListed, PageShown, Told } from '../messages.js';
import { remedyWords } from '../remedyWords.js';
import { FileTimes, type TimedFiles } from './fileTimes.js';
import { givenBy, limitBy } from './given.js';
import type { FramesApart } from './framesApart.js';
import type { Rests } from './rests.js';
import type { Stars } from './stars.js';
import { emptyShown, shownNight } from './shownNight.js';

/** What the work on a night needs from outside. */
export interface NightMeans {
  readonly database: Database;
  readonly decoders: FrameDecoders;
  readonly frames: FramesApart;
  readonly rests: Rests;
  readonly version: string;
  readonly stars: Stars;
  progress(what: string, done: number, of: number): void;
  /** Told when what is kept has changed, for other tabs. */
  changed(): void;
}

const SETTINGS = 'settings';
const FOLDER = 'folder';
/** Frames remembered, to recognise a copy. */
const MOST_ANSWERED = 50;
const WIDE = 10_000;
/** How long a file of a watched folder that seems incomplete is waited for after its last change, ms. */
const PATIENCE_MS = 5000;
/** Tries to write. Another tab comes between now and then; more often in a row it is a fault. */
const TRIES = 5;

/** What is told about given frames. */
interface Taken {
  readonly told: readonly Told[];
  readonly unfinished?: readonly string[];
}

/** The nights that the browser keeps, and what is done with the one that is open. */
export class NightWork {
  private settings: Settings = FIRST_SETTINGS;
  private answered: readonly FrameStars[] = [];
  readonly times = new FileTimes();
  /** Files given since the page was opened, by name: pictures are drawn from them. */
  readonly files = new Map<string, File>();

  constructor(private readonly means: NightMeans) {}

  get database(): Database {
    return this.means.database;
  }

  async begin(): Promise<void> {
    this.settings = { ...FIRST_SETTINGS, ...await this.means.database.get<Settings>('settings', SETTINGS) };
  }

  current(): Settings {
    return this.settings;
  }

  async set(change: Partial<Settings>): Promise<void> {
    this.settings = await this.means.database.change<Settings>(
      'settings', SETTINGS, (before) => ({ ...FIRST_SETTINGS, ...before, ...change }),
    ) ?? this.settings;
    this.means.changed();
  }

  /** The night that is open; null where the next frame begins one. */
  async open(): Promise<KeptNight | null> {
    const { night } = this.settings;
    return night === null ? null : this.means.database.get<KeptNight>('nights', night);
  }

  /** Values for a night, from its record and the settings. */
  given(session: Session | null, framesSayWhere = false): Given {
    return givenBy(this.settings, framesSayWhere || (session !== null && session.start.site !== null));
  }

  /** Other sessions of the same rig. */
  async earlier(name: string | null, rig: string | null): Promise<Session[]> {
    if (rig === null) return [];
    const nights = await this.means.database.all<KeptNight>('nights');
    return nights.filter((n) => n.name !== name).flatMap((n) => sessionOf(n) ?? []).filter(({ start }) => start.rig === rig);
  }

  async adjustments(name: string | null, rig: string | null, hemisphere: 1 | -1): Promise<Adjustment[]> {
    return (await this.earlier(name, rig)).flatMap((night) => adjustmentsIn(night, hemisphere));
  }

  /** All that the page shows. */
  async shown({ told, unfinished = [] }: Taken = { told: [] }): Promise<PageShown> {
    await this.begin();
    const { database } = this.means;
    const kept = await this.open();
    const session = kept && sessionOf(kept);
    const given = this.given(session);
    const request = {
      settings: this.settings, given, nights: await this.listed(),
      earlier: await this.adjustments(kept?.name ?? null, rigName(given.rigFile), session?.start.hemisphere ?? 1),
    };
    const night = kept && session ? shownNight(kept, session, request) : emptyShown(request, kept?.name ?? null);
    return { night, settings: this.settings, told, unfinished, lasting: database.lasting, practising: false };
  }

  private async listed(): Promise<NightListed[]> {
    const nights = await this.means.database.all<KeptNight>('nights');
    return nights.flatMap((n) => {
      const session = sessionOf(n);
      if (!session) return [];
      const looks = entriesOf(session.recorded, 'look').length;
      return [{ name: n.name, begun: session.start.at, looks, open: n.name === this.settings.night }];
    }).sort((a, b) => (a.begun < b.begun ? 1 : -1));
  }

  /** Takes frames into the night. Between the first ones, picked together, only right ascension was turned. */
  async take(files: readonly File[], by: CameBy): Promise<PageShown> {
    await this.begin();
    const toRead = this.times.of(files, by, this.settings);
    const read = await this.read(toRead);
    // Typed times hold once.
    if (toRead.used) await this.set({ nextTimes: null });
    const unfinished = by === 'folder' ? read.filter((r, i) => seemsUnfinished(r, files[i]!)).map(({ file }) => file) : [];
    const results = read.filter(({ file }) => !unfinished.includes(file));
    const groups = by === 'picked' ? [results] : results.map((r) => [r]);
    const all: Taken[] = [];
    for (const group of groups) all.push(await this.takeGroup(group));
    return this.shown({ told: all.flatMap((t) => t.told), unfinished });
  }

  private async read({ files, times, from }: TimedFiles): Promise<FrameResult[]> {
    const { rests, frames, progress } = this.means;
    const zone = clockZone(givenBy(this.settings, true));
    const results: FrameResult[] = [];
    for (const file of files) {
      progress('frames read', results.length, files.length);
      await rests.rest();
      results.push(timed(await frames.look('stars', file, zone), times, from + results.length));
      this.files.set(file.name, file);
    }
    progress('frames read', files.length, files.length);
    return results;
  }

  /** Adds frames to the kept night. Where another tab has changed it meanwhile, tries again. */
  private async takeGroup(results: readonly FrameResult[]): Promise<Taken> {
    const fresh = this.withoutCopies(results);
    if (fresh.results.length === 0) return { told: fresh.told };
    for (let tries = 0; tries < TRIES; tries++) {
      const taken = await this.tryTake(fresh.results);
      if (taken) return { ...taken, told: [...fresh.told, ...taken.told] };
      await this.begin();
    }
    throw new PolewardError('session-busy', 'Another tab keeps changing this night. Close it, and give the frames again.');
  }

  private withoutCopies(results: readonly FrameResult[]): { results: FrameResult[]; told: Told[] } {
    const same = samePictures([...this.answered, ...results]);
    const copies = results.filter((r) => same.has(r as FrameStars));
    return {
      results: results.filter((r) => !copies.includes(r)),
      told: copies.map((copy) => trouble(same.get(copy as FrameStars)!)),
    };
  }

  private async tryTake(results: readonly FrameResult[]): Promise<Taken | null> {
    const { database, rests, progress } = this.means;
    let kept = await this.open();
    let session = kept && sessionOf(kept);
    const framesSayWhere = results.some((r) => 'stars' in r && r.metadata.latitudeDeg !== null);
    const given = this.given(session, framesSayWhere);
    const before = session ? { site: session.start.site, camera: cameraOf(session) } : undefined;
    const coming = { each: async (arrived: (result: FrameResult) => void) => { results.forEach(arrived); return [...results]; } };
    const seen = await this.means.stars.serve(
      (stars) => seeFrames(coming, results.length, given, stars, progress, before, rests.pace),
    );
    const catalogue = await this.means.stars.near();
    const told: Told[] = [];
    const why = session && seen.known.length > 0 ? whyNotOf(session, whereAndWhen(seen)) : null;
    if (why !== null) {
      told.push({ kind: 'notice', text: `The night that was open ${why}. A new one was begun; the other is in the log.` });
      [kept, session] = [null, null];
    }
    const rig = rigName(given.rigFile);
    const earlier = await this.earlier(kept?.name ?? null, rig);
    const first = seen.known[0]?.sky.time.getTime() ?? null;
    const remembered = session || first === null ? null : rememberedCamera(earlier, first);
    const done = this.doneBefore(kept, session, earlier, given);
    const turnedOnly = session === null && results.length > 1;
    let night = nightBefore(seen, session, remembered);
    const replaces = this.replacedBy(night, seen);
    if (replaces !== null) night = withoutLook(night, replaces);
    let added = addFrames(seen, night, { before: saidOf(done.turned), turnedOnly });
    if (added.given.length === 0 && added.aside.length > 0 && session && !night.answers.some(({ axis }) => axis !== null)) {
      told.push({ kind: 'notice', text: `${worded(added.aside[0]!)} A new night begins with it.` });
      [kept, session] = [null, null];
      night = nightBefore(seen, null, null);
      added = addFrames(seen, night, { before: undefined, turnedOnly });
    }
    told.push(...seen.outcomes.flatMap((o) => (o.trouble ? [trouble(o.trouble)] : [])), ...added.aside.map(trouble));
    if (added.given.length === 0) return { told };
    if (added.given.every(({ news }) => news === 'known')) {
      const names = added.given.map(({ known }) => printable(known.frame.file)).join(', ');
      return { told: [...told, { kind: 'notice', text: `${names}: already in this night.` }] };
    }
    const history = session && { session, earlier: earlier.flatMap((other) => adjustmentsIn(other, session.start.hemisphere)) };
    const made = this.answer(seen, night, added, { given, history, done, catalogue, turnedOnly, again: session !== null });
    if (made instanceof PolewardError) told.push({ kind: 'trouble', text: worded(made) });
    const answer = made instanceof PolewardError ? null : made;
    const toRecord: ToRecord = {
      ...answer?.toRecord ?? {
        site: sessionSite(seen.site), hemisphere: hemisphereSeen(seen), rig, remembered: night.setting.anchor,
        before: happened(new Date(), [], done.turned, done.advised), looks: added.given, answer: null,
      },
      ...(replaces === null ? {} : { replaces }),
    };
    const next = await this.keep(kept, toRecord, {
      turned: [], assumed: answer ? assumedText(answer.measured, WIDE).split('\n') : [],
    });
    if (!next) return null;
    this.answered = [...this.answered, ...added.given.map(({ known }) => known.frame)].slice(-MOST_ANSWERED);
    await database.remove('pictures', next.name);
    this.means.changed();
    return { told };
  }

  /** The answer, or why there is none; null where there is none yet and that needs no explanation. */
  private answer(
    seen: SeenFrames, before: Night, added: Added, { turnedOnly, again, ...request }: {
      readonly turnedOnly: boolean; readonly again: boolean;
    } & Pick<AnswerRequest, 'given' | 'history' | 'done' | 'catalogue'>,
  ): (Answer & { readonly toRecord: ToRecord }) | PolewardError | null {
    const { given } = request;
    const answer = answerAt(added.night, given.aim);
    if (!answer) {
      const why = turnedOnly ? attempt(() => measured(seen, before, { ...given, before: undefined, turnedOnly })) : null;
      return why instanceof PolewardError ? why : null;
    }
    const found = measuredBy(seen, before, added, answer, given);
    if (again) {
      const refused = attempt(() => requireLowEnough(found));
      if (refused instanceof PolewardError) return refused;
    }
    return answerOf(found, {
      ...request, limit: limitBy(this.settings, given), cautionsAgain: false, star: undefined, at: new Date(),
    });
  }

  /** The moment of the look that a file gave before it changed; null where it gave none, or was another exposure. */
  private replacedBy({ looks }: Night, { known }: SeenFrames): string | null {
    const [only, ...more] = known;
    if (!only || more.length > 0) return null;
    const utc = only.sky.time.toISOString();
    const before = this.answered.some(({ file }) => file === only.frame.file);
    return before && looks.some((l) => l.utc === utc && l.file === only.frame.file) ? utc : null;
  }

  private doneBefore(kept: KeptNight | null, session: Session | null, earlier: readonly Session[], given: Given): Done {
    const turned = kept?.turned ?? [];
    if (turned.length === 0 || !session) return { turned: [], advised: null };
    const shown = earlier.flatMap((other) => adjustmentsIn(other, session.start.hemisphere));
    const advice = adviceBefore({ session, earlier: shown }, given.rigFile?.rig ?? null);
    return { turned, advised: sameTurns(turned, advice) ? advice : null };
  }

  /** Writes the night with its new entries; null where another tab has changed it meanwhile. */
  private async keep(
    kept: KeptNight | null, toRecord: ToRecord, more: Pick<KeptNight, 'turned' | 'assumed'>,
  ): Promise<KeptNight | null> {
    const now = new Date();
    const base = kept ?? newNight(now);
    const begins = base.lines.length === 0 ? [beginningOf(toRecord, now, this.means.version)] : [];
    const next = withEntries(base, [...begins, ...entriesToRecord(toRecord, now, (file) => file)], more);
    const written = await this.write(next);
    if (!written) return null;
    if (this.settings.night !== next.name) await this.set({ night: next.name });
    return next;
  }

  private async write(next: KeptNight): Promise<boolean> {
    let conflict = false;
    await this.means.database.change<KeptNight>('nights', next.name, (before) => {
      conflict = (before?.revision ?? 0) !== next.revision - 1;
      return conflict ? null : next;
    });
    return !conflict;
  }

  /** Says what was turned since the last look; it replaces what was said before. */
  async turned(turns: readonly KnobTurned[]): Promise<void> {
    const kept = await this.open();
    if (!kept) return;
    await this.write({ ...kept, revision: kept.revision + 1, turned: turns });
    this.means.changed();
  }

  /** Takes the last look out of the night. */
  async undo(): Promise<void> {
    const kept = await this.open();
    const before = kept && withoutLastLook(kept);
    if (!before) return;
    const last = entriesOf(sessionOf(kept)?.recorded ?? [], 'look').at(-1)?.entry.look.utc;
    this.answered = this.answered.filter((f) => f.metadata.midExposure?.value.toISOString() !== last);
    await this.write(before);
    await this.means.database.remove('pictures', kept.name);
    this.means.changed();
  }

  /** The open night as the text of a session file; null without one. */
  async sessionText(): Promise<{ name: string; text: string } | null> {
    const kept = await this.open();
    if (!kept || kept.lines.length === 0) return null;
    const since = happened(new Date(), [], kept.turned, null);
    return { name: `${kept.name}.jsonl`, text: withEntries(kept, since, {}).lines.join('') };
  }

  /** Opens a session file: a night of its own here. Throws PolewardError `session-unreadable` for anything else. */
  async openSession(text: string, fileName: string): Promise<void> {
    const name = fileName.replace(/\.jsonl$/i, '').slice(0, 80);
    const lines = text.split('\n').filter((line) => line.trim() !== '').map((line) => `${line}\n`);
    const night: KeptNight = { name, revision: 1, lines, turned: [], assumed: [] };
    if (!sessionOf(night)) {
      throw new PolewardError(
        'session-unreadable', `${printable(fileName)} is not a session of Poleward. Give a file that Poleward saved.`,
      );
    }
    // A different night of the same name stays.
    const there = await this.means.database.get<KeptNight>('nights', name);
    const free = there && there.lines.join('') !== lines.join('') ? `${name} ${new Date().toISOString().slice(11, 19)}` : name;
    await this.means.database.put('nights', free, { ...night, name: free, revision: (there?.revision ?? 0) + 1 });
    await this.set({ night: free });
  }

  /** The folder that was watched last, as the browser's own handle; null without one. */
  folder(): Promise<unknown> {
    return this.means.database.get('settings', FOLDER);
  }

  async rememberFolder(folder: unknown): Promise<void> {
    await this.means.database.put('settings', FOLDER, folder);
  }

  async openNight(name: string | null): Promise<void> {
    this.answered = [];
    await this.set({ night: name });
  }

  async forget(name: string): Promise<void> {
    await this.means.database.remove('nights', name);
    await this.means.database.remove('pictures', name);
    if (this.settings.night === name) await this.set({ night: null });
    else this.means.changed();
  }
}

/** Whether a file in a watched folder looks as if it were still being written; one that has not changed for a while is taken as it is. */
function seemsUnfinished(result: FrameResult, { lastModified }: File): boolean {
  const cut = 'code' in result ? result.code === 'file-truncated' || result.code === 'not-an-image' || result.code === 'file-unreadable'
    : result.unfinishedRows !== undefined;
  return cut && Date.now() - lastModified < PATIENCE_MS;
}

/** Whether turns are as advised, within what a hand can do. */
function sameTurns(turned: readonly KnobTurned[], advice: Done['advised']): boolean {
  return turned.every(({ knob, turns }) => {
    const advised = advice?.find((a) => a.knob === knob)?.turns;
    return typeof advised === 'number' && Math.abs(advised - turns) < 0.005;
  });
}

function worded({ message, remedies }: Notice): string {
  return withRemedies(message, remedies, remedyWords);
}

function trouble(notice: Notice): Told {
  return { kind: 'trouble', text: worded(notice) };
}
