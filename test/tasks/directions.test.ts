/**
 * Every word that names a direction, in every view, in both hemispheres, for either knob and either sign: looks of an axis that stands
 * off to one side, then one after the knob was turned that brings it back. What must be said is written down here by hand.
 */
import { describe, expect, test } from 'vitest';
import { aimedError } from '../../src/axis/aim.js';
import type { Rig } from '../../src/knobs/rig.js';
import { happenedBefore } from '../../src/night/happenings.js';
import { emptyNight } from '../../src/night/night.js';
import { nightAsRecorded } from '../../src/night/record/nightOfSession.js';
import { tellStory } from '../../src/night/record/story.js';
import { answerView } from '../../src/panel/panelWords.js';
import { givenValues } from '../../src/tasks/given/given.js';
import { siteInForce } from '../../src/tasks/given/siteInForce.js';
import { logText } from '../../src/tasks/log/logText.js';
import { reportOf } from '../../src/tasks/log/report.js';
import { guide } from '../../src/tasks/measure/guidance.js';
import { type Measured, addFrames, measuredBy } from '../../src/tasks/measure/measureFrames.js';
import { measurementText } from '../../src/tasks/measure/measurementText.js';
import { sayAnswer } from '../../src/tasks/measure/sayAnswer.js';
import { seen } from '../../src/tasks/measure/seeFrames.js';
import type { KnownFrame } from '../../src/tasks/recognise/recognition.js';
import { leadText, newFrameText } from '../../src/tasks/watch/watchText.js';
import { answerAt } from '../../src/night/night.js';
import { SITE } from '../axis/sightings.js';
import { type InventedLook, SOUTHERN, inventLooks } from '../night/inventedLooks.js';
import { LOOKS_SITE, LOOKS_SITE_SOUTH, lookEntry, looksStart, sessionOf, turn } from '../night/record/entries.js';

const RIG: Rig = { knobs: { azimuth: { arcminPerTurn: 60, clockwise: 'east' }, altitude: { arcminPerTurn: 40, clockwise: 'raise' } } };
const LIMIT = { arcmin: 0.5, from: null };
/** What the error of the axis is called, what must be done about it, and at which hand that is. */
interface Case {
  readonly south: boolean;
  readonly knob: 'azimuth' | 'altitude';
  /** + = too far east, too high. */
  readonly off: number;
  readonly isToo: string;
  readonly move: string;
  readonly moved: string;
  readonly panel: readonly [way: string, arrow: string, said: string];
  readonly turn: 'clockwise' | 'counter-clockwise';
}
const CASES: readonly Case[] = [
  // Facing north, east is at the right hand; facing south, at the left.
  { south: false, knob: 'azimuth', off: 30, isToo: 'too far east', move: 'west, left as you face the pole', moved: 'west',
    panel: ['west, left', '←', 'too far east'], turn: 'counter-clockwise' },
  { south: false, knob: 'azimuth', off: -30, isToo: 'too far west', move: 'east, right as you face the pole', moved: 'east',
    panel: ['east, right', '→', 'too far west'], turn: 'clockwise' },
  { south: true, knob: 'azimuth', off: 30, isToo: 'too far east', move: 'west, right as you face the pole', moved: 'west',
    panel: ['west, right', '→', 'too far east'], turn: 'counter-clockwise' },
  { south: true, knob: 'azimuth', off: -30, isToo: 'too far west', move: 'east, left as you face the pole', moved: 'east',
    panel: ['east, left', '←', 'too far west'], turn: 'clockwise' },
  // Up is up in either.
  { south: false, knob: 'altitude', off: 30, isToo: 'too high', move: 'down', moved: 'down',
    panel: ['lower', '↓', 'too high'], turn: 'counter-clockwise' },
  { south: false, knob: 'altitude', off: -30, isToo: 'too low', move: 'up', moved: 'up',
    panel: ['raise', '↑', 'too low'], turn: 'clockwise' },
  { south: true, knob: 'altitude', off: 30, isToo: 'too high', move: 'down', moved: 'down',
    panel: ['lower', '↓', 'too high'], turn: 'counter-clockwise' },
  { south: true, knob: 'altitude', off: -30, isToo: 'too low', move: 'up', moved: 'up',
    panel: ['raise', '↑', 'too low'], turn: 'clockwise' },
];
/** Words for the other way, none of which may be said of the knob. */
const OPPOSITE: Readonly<Record<string, string>> = { west: 'east', east: 'west', up: 'down', down: 'up' };

function knownOf({ look, frame: { identification, sky } }: InventedLook, hemisphere: 1 | -1): KnownFrame {
  const nothing = {
    exposureSeconds: null, pixelSizeMicrometres: null, binning: null, focalLengthMillimetres: null, latitudeDeg: null, longitudeDeg: null,
    elevationMetres: null,
  };
  return {
    hemisphere, sky, identification,
    frame: {
      file: look.file, width: look.width, height: look.height, firstRowBottom: true, stars: [], background: 0, noise: 1, fwhm: 2,
      metadata: { ...nothing, midExposure: { value: sky.time, from: 'invented' }, remarks: [] },
    },
  };
}

/** The answer to some frames, added to a night that holds those before. */
function measuredOf(before: readonly InventedLook[], given: readonly InventedLook[], south: boolean): Measured {
  const hemisphere = south ? -1 : 1;
  const [values, place] = [givenValues({}, null), south ? LOOKS_SITE_SOUTH : LOOKS_SITE];
  const site = siteInForce(values, [], place);
  const framesOf = (looks: readonly InventedLook[]): ReturnType<typeof seen> =>
    seen(looks.map((look) => ({ known: knownOf(look, hemisphere) })), site);
  const start = addFrames(
    framesOf(before), emptyNight({ site: site!.site, hemisphere, anchor: null }), { before: undefined, turnedOnly: true },
  ).night;
  const frames = framesOf(given);
  const added = addFrames(frames, start, { before: undefined, turnedOnly: before.length === 0 });
  return measuredBy(frames, start, added, answerAt(added.night, 'true')!, { ...values, aim: 'true' });
}
const flat = (text: string): string => text.replace(/\s+/g, ' ');
const STYLE = { width: 60, remedies: () => '', command: () => '', full: false };

describe.each(CASES)('the axis $isToo, south: $south', ({ south, knob, off, isToo, move, moved, panel, turn: way }) => {
  const site = south ? SOUTHERN : SITE;
  const start = { altitude: knob === 'altitude' ? off : 4, azimuth: knob === 'azimuth' ? off : 4, site };
  // The knob goes past the pole, so that what is left has the other sign.
  const looks = inventLooks(start, [{}, { west: 35 }, { west: 35 }, knob === 'azimuth' ? { east: -off * 1.25 } : { raise: -off * 1.25 }]);
  const measured = measuredOf([], looks.slice(0, 3), south);
  const guidance = guide(measured.measurement, RIG, null, false);
  const said = sayAnswer(measured, guidance, LIMIT);

  test('measure says which way it is off, which way it must go, and how to turn', () => {
    const text = flat(measurementText(measured, guidance, said, STYLE));
    const order = new RegExp(`(^|then )${knob}( first)?: [^:]*axis 30\\.0′ ${move}`);
    expect(text).toMatch(order);
    expect(order.exec(text)![0]).toContain(way === 'clockwise' ? 'clockwise' : 'counter-clockwise');
    expect(text).toMatch(new RegExp(`(30\\.0|29\\.9)\\d′ ${isToo}`));
  });

  test('measure without a rig file says which way the axis must go', () => {
    const text = flat(measurementText(
      measured, guide(measured.measurement, null, null, false), sayAnswer(measured, guide(measured.measurement, null, null, false), LIMIT),
      STYLE,
    ));
    expect(text).toMatch(new RegExp(`${knob}( first)?: move the axis 30\\.0′ ${move}`));
  });

  const after = measuredOf(looks.slice(0, 3), looks.slice(3), south);
  const afterGuidance = guide(after.measurement, RIG, null, false);
  const afterSaid = sayAnswer(after, afterGuidance, LIMIT);

  test('recheck and watch say what the knob did, and that the rest is the other way', () => {
    const back = OPPOSITE[moved]!;
    const recheck = flat(measurementText(after, afterGuidance, afterSaid, STYLE));
    expect(recheck).toMatch(new RegExp(`${knob}( first)?: [^:]*axis 7\\.[45]\\d?′ ${back}`));
    const happened = happenedBefore(after.night, 3, 'true');
    const lead = leadText(looks[3]!.look.utc, looks[3]!.look.file, happened, 60);
    const watch = flat(newFrameText(lead, after, afterGuidance, afterSaid, STYLE));
    expect(watch).toMatch(new RegExp(
      `^20:06:00 frame-4\\.fits: the axis moved (37\\.5|37\\.4)\\d′ ${moved} ${knob === 'azimuth' ? '\\w' : '\\w'}`,
    ));
    expect(watch).toContain(afterSaid.verdict[0]!.order);
    expect(watch).not.toMatch(new RegExp(`the axis moved [\\d.]+′ ${back}`));
  });

  test('log and report say the same, and count a turn in the right direction as one', () => {
    const session = sessionOf(
      looksStart(south ? LOOKS_SITE_SOUTH : LOOKS_SITE), ...looks.slice(0, 3).map(lookEntry), turn(knob, 1, 5, -off), lookEntry(looks[3]!),
    );
    const story = tellStory(session.recorded, nightAsRecorded(session), 'true');
    const log = flat(logText(session.start, story));
    expect(log).toMatch(new RegExp(
      `turned ${knob} 1\\.00 turn clockwise, to move it 30\\.0′ ${moved} .* ${knob} moved (37\\.5|37\\.4)\\d?′ ${moved} ± \\S+, expected `
        + `30\\.0′ ${moved}: 125 %`,
    ));
    expect(log).not.toContain('the other way');
    const sign = off > 0 ? '\\+' : '−';
    expect(log).toMatch(new RegExp(`look 3, .*?${knob} ${sign}(30\\.0|29\\.9)\\d?′`));
  });

  test('the report\'s table says what happened before each look', async () => {
    const session = sessionOf(looksStart(south ? LOOKS_SITE_SOUTH : LOOKS_SITE), ...looks.map(lookEntry));
    const story = tellStory(session.recorded, nightAsRecorded(session), 'true');
    const { html } = await reportOf(session, story, {
      learned: { azimuth: null, altitude: null, cross: null }, rigFile: null, planned: null, night: false, version: '0',
    }, {
      frameOf: () => Promise.resolve(null), encode: () => Promise.reject(new Error('there is no picture')),
      drawing: () => Promise.resolve(),
    });
    const text = flat(html.replace(/<[^>]*>/g, ' '));
    expect(text).toMatch(new RegExp(`the axis moved (37\\.5|37\\.4)\\d′ ${moved}`));
    expect(text).toContain('turned 35.0° west in right ascension');
    expect(text).not.toContain('east in right ascension');
  });

  test('the panel says it, shows it with an arrow, and reads it out', () => {
    const { measurement } = measured;
    const { knobs } = answerView({
      ...aimedError(measurement), sigma: measurement.sigma, aim: 'true', hemisphere: measurement.hemisphere, advice: guidance.advice,
      rig: RIG,
      warnings: measured.warnings, doubts: said.doubts, next: said.next,
    }, LIMIT.arcmin);
    const shown = knobs.find((k) => k.name === knob)!;
    expect([shown.way, shown.arrow]).toEqual(panel.slice(0, 2));
    expect(shown.offSaid).toBe(`30.0 arcminutes ${panel[2]}`);
    expect(shown.turn.steps.reduce((sum, t) => sum + t, 0) > 0 ? 'clockwise' : 'counter-clockwise').toBe(way);
  });

  test('the mount turned west is said to be turned west', () => {
    expect(happenedBefore(measured.night, 1, 'true').turn! * (180 / Math.PI)).toBeCloseTo(35, 1);
  });
});
