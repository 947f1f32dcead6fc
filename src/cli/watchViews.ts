import type { ErrorCode } from '../error.js';
import type { HappenedBefore } from '../night/happenings.js';
import type { Limit } from '../night/said.js';
import { emptyView, type PanelView } from '../panel/panelView.js';
import { answerView, nothingYetTrouble, panelAnswer, type PanelAnswer, TAKEN_SHORT, unusableFrame } from '../panel/panelWords.js';
import type { StandingAnswer } from '../tasks/measure/standingAnswer.js';
import type { Answered } from './answerFrames.js';

/** What the panel of a watch shows, kept up to date with what each frame gave. */
export class WatchViews {
  private constructor(public view: PanelView, private readonly limit: Limit) {}

  /** `standing`: what the night's record says already; null where it gives no answer: then `next` is what to do. */
  static start(standing: StandingAnswer | null, next: string, limit: Limit): WatchViews {
    return new WatchViews(startView(standing, next, limit.arcmin), limit);
  }

  /** `kept`: it was recorded, or was not to be recorded. */
  answer(found: Omit<Answered, 'record' | 'marks'>, { what }: HappenedBefore, kept: boolean): void {
    const view = answerView(answerOf(found), this.limit.arcmin);
    this.view = { ...view, trouble: view.trouble ?? notKept(kept), frame: { at: Date.now(), taken: TAKEN_SHORT[what] } };
  }

  nothingYet({ what }: HappenedBefore, next: string, kept: boolean): void {
    const view = what === 'anew' ? emptyView(next) : this.view;
    this.view = { ...view, next, trouble: nothingYetTrouble(what) ?? notKept(kept), frame: { at: Date.now(), taken: TAKEN_SHORT[what] } };
  }

  /** What could not be recorded before is recorded now. */
  recorded(): void {
    this.settled(unusableFrame('session-unwritable').headline);
  }

  /** The folder can't be read, or can be read again. */
  folder(lost: boolean): void {
    if (lost) this.view = { ...this.view, trouble: FOLDER_LOST };
    else this.settled(FOLDER_LOST.headline);
  }

  private settled(headline: string): void {
    if (this.view.trouble?.headline === headline) this.view = { ...this.view, trouble: null };
  }

  unusable(code: ErrorCode): void {
    this.view = { ...this.view, trouble: unusableFrame(code), frame: { at: Date.now(), taken: 'not usable' } };
  }
}

const FOLDER_LOST = { headline: 'No folder', detail: 'The folder of the frames can\'t be read. See to the card or the cable.' };

function notKept(kept: boolean): PanelView['trouble'] {
  return kept ? null : unusableFrame('session-unwritable');
}

function answerOf({ measured: { measurement, site, warnings }, guidance, said }: Omit<Answered, 'record' | 'marks'>): PanelAnswer {
  return panelAnswer({ axis: measurement, site, warnings }, guidance, said);
}

/** The night's last answer, so that the panel is not empty after a restart. */
function startView(standing: StandingAnswer | null, next: string, limit: number): PanelView {
  if (!standing) return emptyView(next);
  const { measurement, site, warnings, guidance, said } = standing;
  return { ...answerView(panelAnswer({ axis: measurement, site, warnings }, guidance, said), limit), frame: null };
}
