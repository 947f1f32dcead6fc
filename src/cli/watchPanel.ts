import { homedir, networkInterfaces } from 'node:os';
import { join } from 'node:path';
import type { ErrorCode } from '../error.js';
import { ARCMINUTE } from '../geometry/angle.js';
import { reachableAddresses } from '../panel/addresses.js';
import { readPage } from '../panel/pageFiles.js';
import { keyOfNight } from '../panel/panelKey.js';
import { emptyView, type PanelView } from '../panel/panelView.js';
import { startPanel } from '../panel/startPanel.js';
import type { MeasurementRecord } from '../night/record/entry.js';
import type { Session } from '../night/record/session.js';
import { knobHistory } from '../node/earlierSessions.js';
import { stateFolder } from '../node/stateFolder.js';
import { adviceBefore } from '../tasks/measure/guidance.js';
import type { Given } from '../tasks/given/given.js';
import { rigName } from '../tasks/given/rigInForce.js';
import { aimedError } from '../axis/aim.js';
import { wrap } from '../tasks/words/numberWords.js';
import { say, sayLine } from './output.js';
import { answerView, nothingYetTrouble, type PanelAnswer, TAKEN_SHORT, unusableFrame } from '../panel/panelWords.js';
import type { WatchOptions } from './watchOptions.js';
import type { HappenedBefore } from '../night/happenings.js';
import type { Limit } from '../night/said.js';
import { answersIn } from '../night/record/entry.js';
import type { Answered } from './answerFrames.js';

/** The first port that is tried: none of the well-known ones. */
const PORT = 8470;

/** The panel as the watch sees it: told what each frame gave, it shows the last of them on `refresh`. */
export interface WatchPanel {
  answer(found: Answered, happened: HappenedBefore): void;
  nothingYet(happened: HappenedBefore, next: string): void;
  unusable(code: ErrorCode): void;
  refresh(): void;
  stop(): Promise<void>;
}

/** Starts the panel that the options ask for and says where it is. `greeting`: what to do before the first frame. */
export async function startWatchPanel(options: WatchOptions, given: Given, session: Session | null, greeting: string, limit: Limit): Promise<WatchPanel> {
  const wished = options.panelPort ?? PORT;
  const key = options.panelOpen ? keyOfNight(join(stateFolder({ platform: process.platform, env: process.env, home: homedir() }), 'panel-key.json'), Date.now()) : null;
  const panel = await startPanel({ page: readPage(), port: wished, key });
  await sayWhere(panel.port, wished, key, options);
  let view: PanelView = startView(session, given, greeting, limit.arcmin);
  panel.show(view);
  return {
    answer(found, { what }) {
      view = { ...answerView(answerOf(found), limit.arcmin), frame: { at: Date.now(), taken: TAKEN_SHORT[what] } };
    },
    nothingYet({ what }, next) {
      const kept = what === 'anew' ? emptyView(next) : view;
      view = { ...kept, next, trouble: nothingYetTrouble(what), frame: { at: Date.now(), taken: TAKEN_SHORT[what] } };
    },
    unusable(code) {
      view = { ...view, trouble: unusableFrame(code), frame: { at: Date.now(), taken: 'not usable' } };
    },
    refresh: () => panel.show(view),
    stop: () => panel.stop(),
  };
}

function answerOf({ measured: { measurement, site, warnings }, guidance: { advice, rig }, said }: Answered): PanelAnswer {
  const { azimuth, altitude, separation } = aimedError(measurement);
  const { sigma, aim, hemisphere } = measurement;
  return { azimuth, altitude, separation, sigma, aim, hemisphere, advice: site ? advice : [], rig, warnings, doubts: said.doubts, next: said.next };
}

/** What the session knew last, so that a watch that was started anew does not begin with an empty panel. */
function startView(session: Session | null, given: Given, greeting: string, limit: number): PanelView {
  const last = session && answersIn(session.recorded).at(-1)?.entry;
  const answer = session && last ? recordedAnswer(last.measurement, session, given) : null;
  return answer ? { ...answerView(answer, limit), next: greeting, trouble: null, frame: null } : emptyView(greeting);
}

function recordedAnswer({ axis }: MeasurementRecord, session: Session, { rigFile }: Given): PanelAnswer | null {
  const off = aimedError(axis);
  const { sigma } = axis;
  const rig = rigFile?.rig ?? null;
  if (off.azimuthArcmin === null || off.altitudeArcmin === null || sigma.azimuthArcmin === null || sigma.altitudeArcmin === null) return null;
  return {
    azimuth: off.azimuthArcmin * ARCMINUTE, altitude: off.altitudeArcmin * ARCMINUTE, separation: off.separationArcmin * ARCMINUTE,
    sigma: { azimuth: sigma.azimuthArcmin * ARCMINUTE, altitude: sigma.altitudeArcmin * ARCMINUTE, separation: sigma.separationArcmin * ARCMINUTE },
    aim: axis.aim, hemisphere: session.start.hemisphere, advice: adviceBefore(knobHistory(session, rigName(rigFile)), rig), rig, warnings: [],
    doubts: [], next: { action: 'turn-knob', words: '' },
  };
}

/** Where the panel is; on the network with a code for the phone. */
async function sayWhere(port: number, wished: number, key: string | null, { json, night }: WatchOptions): Promise<void> {
  const others = key === null ? [] : reachableAddresses(networkInterfaces());
  const hosts = [...others, '127.0.0.1'];
  const urls = hosts.map((host) => `http://${host}:${port}/${key === null ? '' : `${key}/`}`);
  if (json) {
    sayLine({ schema: 'poleward/watch-1', message: 'panel', addresses: urls });
    return;
  }
  if (wished !== 0 && port !== wished) say(wrap(`Port ${wished} is in use; the panel took ${port}.`), night ?? false);
  if (key === null) {
    say(`Panel, on this computer alone: ${urls[0]!}`, night ?? false);
    return;
  }
  const here = urls.at(-1)!;
  if (others.length === 0) {
    say(`${wrap('This computer is on no network, so no phone can reach the panel: join the phone\'s hotspot, then start the watch again. On this computer:')}\n${here}`, night ?? false);
    return;
  }
  const { qrText } = await import('../panel/qrText.js');
  say(qrText(urls[0]!), night ?? false);
  say(['Panel, for all on this network who have the address:', ...urls.slice(0, -1), 'on this computer '
    + 'itself:', here].join('\n'), night ?? false);
}
