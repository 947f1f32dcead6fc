import { aimedError } from '../axis/aim.js';
import type { ErrorCode } from '../error.js';
import { ARCMINUTE } from '../geometry/angle.js';
import type { HappenedBefore } from '../night/happenings.js';
import { type MeasurementRecord, answersIn } from '../night/record/entry.js';
import type { Session } from '../night/record/session.js';
import type { Limit } from '../night/said.js';
import { knobHistory } from '../node/earlierSessions.js';
import { emptyView, type PanelView } from '../panel/panelView.js';
import { answerView, nothingYetTrouble, panelAnswer, type PanelAnswer, TAKEN_SHORT, unusableFrame } from '../panel/panelWords.js';
import type { Given } from '../tasks/given/given.js';
import { rigName } from '../tasks/given/rigInForce.js';
import { adviceBefore } from '../tasks/measure/guidance.js';
import type { Answered } from './answerFrames.js';

/** What the panel of a watch shows, kept up to date with what each frame gave. */
export class WatchViews {
  private constructor(public view: PanelView, private readonly limit: Limit) {}

  /**
   * `greeting`: what to do before the first frame. The last answer of the session is shown with it, so that the panel is not empty after a
   * restart.
   */
  static start(session: Session | null, given: Given, greeting: string, limit: Limit): WatchViews {
    return new WatchViews(startView(session, given, greeting, limit.arcmin), limit);
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

/** The last answer of the session, so that the panel is not empty after a restart. */
function startView(session: Session | null, given: Given, greeting: string, limit: number): PanelView {
  const last = session && answersIn(session.recorded).at(-1)?.entry;
  const answer = session && last ? recordedAnswer(last.measurement, session, given) : null;
  return answer ? { ...answerView(answer, limit), next: greeting, trouble: null, frame: null } : emptyView(greeting);
}

function recordedAnswer({ axis }: MeasurementRecord, session: Session, { rigFile }: Given): PanelAnswer | null {
  const off = aimedError(axis);
  const { sigma } = axis;
  const rig = rigFile?.rig ?? null;
  if (off.azimuthArcmin === null || off.altitudeArcmin === null || sigma.azimuthArcmin === null
    || sigma.altitudeArcmin === null) return null;
  return {
    azimuth: off.azimuthArcmin * ARCMINUTE, altitude: off.altitudeArcmin * ARCMINUTE, separation: off.separationArcmin * ARCMINUTE,
    sigma: {
      azimuth: sigma.azimuthArcmin * ARCMINUTE, altitude: sigma.altitudeArcmin * ARCMINUTE, separation: sigma.separationArcmin * ARCMINUTE,
    },
    aim: axis.aim, hemisphere: session.start.hemisphere, advice: adviceBefore(knobHistory(session, rigName(rigFile)), rig), rig,
    warnings: [],
    doubts: [], next: { action: 'turn-knob', words: '' },
  };
}
