import type { Warning } from '../../axis/warning.js';
import { doubtsAt } from '../../night/doubts.js';
import { happenedNow } from '../../night/happenings.js';
import { type Night, type NightAnswer, answerAt, answersNow } from '../../night/night.js';
import { type Recorded, answersIn, entriesOf, timeOfAnswer } from '../../night/record/entry.js';
import type { Session } from '../../night/record/session.js';
import { type Story, tellStory } from '../../night/record/story.js';
import { nextWithoutAnswer } from '../../night/said.js';
import type { Adjustment } from '../../knobs/learnedKnobs.js';
import { panelMessage } from '../../panel/panelMessage.js';
import { emptyView } from '../../panel/panelView.js';
import { answerView, panelAnswer, TAKEN_SHORT } from '../../panel/panelWords.js';
import { convergenceChart } from '../../picture/convergenceChart.js';
import { PAGE_INKS } from '../../picture/inks.js';
import { withRemedies } from '../../remedy.js';
import type { Given } from '../../tasks/given/given.js';
import { siteInForce } from '../../tasks/given/siteInForce.js';
import { lookText, place, sinceText, standing } from '../../tasks/log/logText.js';
import { guide } from '../../tasks/measure/guidance.js';
import { whyText } from '../../tasks/measure/measurementText.js';
import { sayAnswer } from '../../tasks/measure/sayAnswer.js';
import { nightBefore } from '../../tasks/measure/measureFrames.js';
import type { Settings } from '../keep/settings.js';
import type { KeptNight } from '../keep/keptNight.js';
import type { AnswerShown, LogShown, NightListed, NightShown } from '../messages.js';
import { remedyWords } from '../remedyWords.js';
import { limitBy } from './given.js';

/** Lines are broken by the page, not here. */
const WIDE = 10_000;

/** What is needed to show a night, beside itself. */
export interface ShowRequest {
  readonly settings: Settings;
  readonly given: Given;
  readonly earlier: readonly Adjustment[];
  readonly nights: readonly NightListed[];
}

/** A night that has no look yet. */
export function emptyShown({ nights }: ShowRequest, name: string | null): NightShown {
  const { words } = nextWithoutAnswer(0);
  return {
    name, panel: panelMessage(emptyView(words), 0), answer: null, next: words, last: null, turned: [],
    log: { standing: 'nothing measured yet', place: '', looks: [], since: '', chart: null, nights },
  };
}

/** The night of a session, by its looks alone: the same after any restart. */
export function shownNight(kept: KeptNight, session: Session, request: ShowRequest): NightShown {
  const { given } = request;
  const site = siteInForce(given, [], session.start.site);
  const night = nightBefore({ outcomes: [], known: [], site }, session, null);
  const story = tellStory(session.recorded, night, given.aim);
  const last = night.looks.length - 1;
  const answer = last < 0 ? null : answerAt(night, given.aim);
  const happened = last < 0 ? null : happenedNow(night, last, given.aim, answersNow(night, given.aim));
  const common = {
    name: kept.name, turned: kept.turned, log: logOf(session, story, request.nights),
    last: happened && { utc: night.looks[last]!.utc, taken: TAKEN_SHORT[happened.what] },
  };
  if (!answer) {
    const { words } = nextWithoutAnswer(night.looks.length);
    return { ...common, panel: panelMessage(emptyView(words), 0), answer: null, next: words };
  }
  const { panel, shown, next } = answerOf(kept, session, night, answer, request);
  return { ...common, panel, answer: shown, next };
}

function answerOf(
  kept: KeptNight, session: Session, night: Night, answer: NightAnswer, { settings, given, earlier }: ShowRequest,
): { panel: NightShown['panel']; shown: AnswerShown; next: string } {
  const look = night.looks.length - 1;
  const site = siteInForce(given, [], session.start.site);
  const recorded = answersIn(session.recorded).at(-1)?.entry;
  const record = recorded && timeOfAnswer(recorded) === night.looks[look]!.utc ? recorded.measurement : null;
  const signs = (record?.doubts ?? []).filter(({ code }) => code === 'turn-sign').map((d) => ({ ...d, code: 'turn-sign' as const }));
  const doubts = [...doubtsAt(night, given.aim), ...signs];
  const guidance = guide(answer.axis, given.rigFile?.rig ?? null, { session, earlier }, true, null);
  const limit = limitBy(settings, given);
  const said = sayAnswer({
    measurement: answer.axis, night, look, doubts, site, unconfirmed: night.answers.at(-1)!.unconfirmed, given: lastGiven(session.recorded),
  }, guidance, limit);
  const warnings = record?.warnings ?? [];
  const panel = panelAnswer({ axis: answer.axis, site, warnings: warnings as readonly Warning[] }, guidance, said);
  return {
    panel: panelMessage({ ...answerView(panel, limit.arcmin), frame: null }, 0),
    shown: {
      verdict: said.verdict.map(({ order, how, remedies }) => ({ order, how: withRemedies(how, remedies, remedyWords) })),
      sure: said.sure, doubts: said.doubts, why: site ? lines(whyText(guidance, WIDE)) : [], assumed: kept.assumed,
      warnings: warnings.map((w) => withRemedies(w.message, 'remedies' in w ? w.remedies as never : [], remedyWords)),
    },
    next: site || said.next.action !== 'turn-knob' ? said.next.words : `Give latitude and longitude (${remedyWords('give-site')}): then `
      + 'it is known which knob to turn.',
  };
}

/** The looks that came together with the last one. */
function lastGiven(recorded: readonly Recorded[]): { look: Extract<Recorded['entry'], { kind: 'look' }>['look'] }[] {
  const looks = entriesOf(recorded, 'look');
  const at = looks.at(-1)?.entry.at;
  return looks.filter(({ entry }) => entry.at === at).map(({ entry }) => ({ look: entry.look }));
}

function logOf(session: Session, story: Story, nights: readonly NightListed[]): LogShown {
  return {
    standing: standing(story, WIDE), place: place(session.start), looks: story.looks.map((look, i) => lookText(look, i + 1, WIDE)),
    since: sinceText(story, WIDE), nights,
    chart: chartOf(story),
  };
}

function chartOf({ looks }: Story): string | null {
  const points = looks.flatMap(({ error, sigma, utc, happened }) => (error && sigma ? [{
    separationArcmin: error.separationArcmin, sigmaArcmin: sigma.separationArcmin, says: utc.slice(11, 16),
    how: happened?.what === 'knob' ? 'recheck' as const : 'rotation' as const,
  }] : []));
  return points.length < 2 ? null : convergenceChart(points, PAGE_INKS);
}

function lines(text: string): string[] {
  return text.split('\n').filter((line) => line !== '');
}
