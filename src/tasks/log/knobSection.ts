import { ARCMINUTE } from '../../geometry/angle.js';
import { plusMinus } from '../../geometry/angleWords.js';
import type { LearnedKnob, LearnedKnobs } from '../../knobs/learnedKnobs.js';
import type { Rig } from '../../knobs/rig.js';
import { travelPerTurn } from '../../knobs/travelPerTurn.js';
import type { ReportSection } from '../../picture/reportPage.js';

/** What the turns of this and earlier nights have shown of the knobs, and the rig file's values. */
export function knobSection(learned: LearnedKnobs, rig: Rig | null): ReportSection {
  const { cross } = learned;
  return {
    title: 'What was learned of the knobs',
    text: null,
    lines: [
      ...(learned.azimuth || learned.altitude ? [] : ['Nothing yet. Say what you turned before each frame.']),
      ...(cross ? [`The base is not level: a turn of the altitude knob also moves azimuth by `
        + `${travel(cross.azimuthByAltitude, cross.azimuthByAltitudeSigma)}, `
        + `a turn of the azimuth knob altitude by ${travel(cross.altitudeByAzimuth, cross.altitudeByAzimuthSigma)}.`] : []),
    ],
    table: {
      head: ['knob', 'rig file', 'a clockwise turn does', 'play', 'from'],
      rows: (['azimuth', 'altitude'] as const).map((name) => [name, ...given(rig, name), ...shown(learned[name], name)]),
    },
  };
}

function given(rig: Rig | null, name: 'azimuth' | 'altitude'): string[] {
  const knob = rig?.knobs?.[name];
  const said = travelPerTurn(knob);
  const way = knob?.clockwise;
  if (!said) return [way === undefined ? 'says nothing' : `clockwise: ${way}`];
  return [`${(said.perTurn / ARCMINUTE).toPrecision(3)}′ a turn${way === undefined ? '' : `, clockwise: ${way}`}`];
}

function shown(knob: LearnedKnob | null, name: 'azimuth' | 'altitude'): string[] {
  if (!knob) return ['not known yet', '', ''];
  const way = name === 'azimuth' ? (knob.travel > 0 ? 'east' : 'west') : knob.travel > 0 ? 'up' : 'down';
  const aside = knob.setAside > 0 ? `, ${knob.setAside} left out as outliers` : '';
  return [
    `${travel(Math.abs(knob.travel), knob.sigma)} ${way}${knob.againstRig ? '; the rig file has its direction the wrong way round' : ''}`,
    knob.backlash ? `${knob.backlash.turns.toFixed(2)} ± ${knob.backlash.sigma.toFixed(2)} turn` : 'none seen',
    `${knob.count} ${knob.count === 1 ? 'adjustment' : 'adjustments'}${aside}`,
  ];
}

function travel(perTurn: number, sigma: number): string {
  const digits = sigma >= 0.95 * ARCMINUTE ? 0 : sigma >= 0.095 * ARCMINUTE ? 1 : 2;
  return `${(perTurn / ARCMINUTE).toFixed(digits)}′ ${plusMinus(sigma)}`;
}
