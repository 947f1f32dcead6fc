import type { KnobName } from '../../knobs/rig.js';
import type { KnobTurned } from '../../knobs/learnedKnobs.js';
import type { Settings } from '../keep/settings.js';
import type { CameBy, PageShown } from '../messages.js';
import { type PictureMeans, newestPicture, nightReport } from './nightPictures.js';
import type { NightMeans, NightWork } from './nightWork.js';
import { PracticeWork } from './practiceWork.js';
import { type Planned, type RunAsked, type SheetAsked, type VerifyAsked, budgetFor, sheetFor, verifyFiles } from './planWork.js';

/** What the page can ask of the worker. */
export interface Work {
  shown(): Promise<PageShown>;
  take(files: readonly File[], by: CameBy): Promise<PageShown>;
  turned(turns: readonly KnobTurned[]): Promise<PageShown>;
  undo(): Promise<PageShown>;
  set(change: Partial<Settings>): Promise<PageShown>;
  openNight(name: string | null): Promise<PageShown>;
  forget(name: string): Promise<PageShown>;
  openSession(file: File): Promise<PageShown>;
  session(): Promise<{ name: string; text: string } | null>;
  folder(): Promise<unknown>;
  rememberFolder(folder: unknown): Promise<void>;
  budget(run: RunAsked): Promise<Planned>;
  prepare(asked: SheetAsked): Promise<Planned>;
  verify(files: readonly File[], asked: VerifyAsked): Promise<Planned>;
  /** Begins a practice night on a virtual mount; the kept night waits. */
  practise(seed: string): Promise<PageShown>;
  practiceTurn(what: KnobName | 'right ascension', amount: number): Promise<void>;
  practiceFrame(): Promise<PageShown>;
  practiceTruth(): Promise<string[]>;
  endPractice(): Promise<PageShown>;
  /** An SVG file. */
  picture(red: boolean): Promise<string | null>;
  report(red: boolean): Promise<{ name: string; html: string } | null>;
}

/** Sessions are some megabytes; more than this is something else. */
const MOST_SESSION_BYTES = 2 ** 28;

/** @param kept the nights that the browser keeps */
export function workOn(kept: NightWork, means: NightMeans & PictureMeans): Work {
  let practice: PracticeWork | null = null;
  const nights = (): NightWork => practice?.nights ?? kept;
  const shown = async (next?: Promise<PageShown>): Promise<PageShown> => ({
    ...await (next ?? nights().shown()), practising: practice !== null,
  });
  const after = async (done: Promise<void>): Promise<PageShown> => {
    await done;
    return shown();
  };
  return {
    shown: () => shown(),
    take: async (files, by) => {
      if (!practice) return shown(kept.take(files, by));
      const { told, unfinished } = await kept.take(files, by);
      const where = { kind: 'notice', text: 'These frames went into the kept night, not into practice.' } as const;
      return { ...await shown(), told: [where, ...told], unfinished };
    },
    turned: (turns) => after(nights().turned(turns)),
    undo: () => after(nights().undo()),
    set: (change) => after(kept.set(change)),
    openNight: (name) => after(nights().openNight(name)),
    forget: (name) => after(nights().forget(name)),
    openSession: async (file) => after(nights().openSession(file.size > MOST_SESSION_BYTES ? '' : await file.text(), file.name)),
    session: () => nights().sessionText(),
    folder: () => kept.folder(),
    rememberFolder: (folder) => kept.rememberFolder(folder),
    budget: (run) => budgetFor(nights(), run),
    prepare: async (asked) => sheetFor(kept, asked, await means.stars.near()),
    verify: (files, asked) => verifyFiles(nights(), files, asked, means),
    practise: (seed) => {
      practice = new PracticeWork(means, kept.current(), seed);
      return shown();
    },
    practiceTurn: async (what, amount) => {
      if (what === 'right ascension') practice?.turn(amount);
      else practice?.turnKnob(what, amount);
    },
    practiceFrame: () => shown(practice?.saveFrame()),
    practiceTruth: async () => practice?.truth() ?? [],
    endPractice: () => {
      practice = null;
      return shown();
    },
    picture: (red) => newestPicture(nights(), means, red),
    report: (red) => nightReport(nights(), means, red),
  };
}
