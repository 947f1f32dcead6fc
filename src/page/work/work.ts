import type { KnobTurned } from '../../knobs/learnedKnobs.js';
import type { Settings } from '../keep/settings.js';
import type { CameBy, PageShown } from '../messages.js';
import { type PictureMeans, newestPicture, nightReport } from './nightPictures.js';
import type { NightMeans, NightWork } from './nightWork.js';
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
  /** An SVG file. */
  picture(red: boolean): Promise<string | null>;
  report(red: boolean): Promise<{ name: string; html: string } | null>;
}

/** Sessions are some megabytes; more than this is something else. */
const MOST_SESSION_BYTES = 2 ** 28;

export function workOn(nights: NightWork, means: NightMeans & PictureMeans): Work {
  const after = async (done: Promise<void>): Promise<PageShown> => {
    await done;
    return nights.shown();
  };
  return {
    shown: () => nights.shown(),
    take: (files, by) => nights.take(files, by),
    turned: (turns) => after(nights.turned(turns)),
    undo: () => after(nights.undo()),
    set: (change) => after(nights.set(change)),
    openNight: (name) => after(nights.openNight(name)),
    forget: (name) => after(nights.forget(name)),
    openSession: async (file) => after(nights.openSession(file.size > MOST_SESSION_BYTES ? '' : await file.text(), file.name)),
    session: () => nights.sessionText(),
    folder: () => nights.folder(),
    rememberFolder: (folder) => nights.rememberFolder(folder),
    budget: (run) => budgetFor(nights, run),
    prepare: async (asked) => sheetFor(nights, asked, await means.catalogue()),
    verify: (files, asked) => verifyFiles(nights, files, asked, means),
    picture: (red) => newestPicture(nights, means, red),
    report: (red) => nightReport(nights, means, red),
  };
}
