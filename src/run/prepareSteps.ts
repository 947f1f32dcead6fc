import type { Hemisphere } from '../sky/localSky.js';

/** A step or a caution; the id never changes. */
export interface Step {
  readonly id: string;
  readonly text: string;
}

/** The order of setting up an equatorial mount; common practice, all of it. */
export function settingUp(hemisphere: Hemisphere): readonly Step[] {
  const pole = hemisphere === 1 ? 'north' : 'south';
  return [
    { id: 'tripod', text: `Tripod on firm ground, the axis' side toward ${pole}.` },
    { id: 'level', text: 'Level the head.' },
    { id: 'latitude', text: 'Set the latitude while the mount is bare.' },
    { id: 'counterweight', text: 'Counterweight on, with its safety stop.' },
    { id: 'telescope', text: 'Then the telescope, camera and all else.' },
    { id: 'balance', text: 'Balance in right ascension, then in declination.' },
    { id: 'cables', text: 'Lead the cables so that a turn in right ascension pulls none, then power.' },
    { id: 'frames', text: 'Point near the pole, clamp declination, take the frames.' },
  ];
}

/** The dangers, worst first; common practice, all of it. */
export const NIGHT_CAUTIONS: readonly Step[] = [
  { id: 'sun', text: 'Never the Sun: no optic near it, caps on by day. It blinds and burns at once.' },
  {
    id: 'weights',
    text: 'The counterweight goes on before the telescope and comes off after it. Hold the tube before you loosen anything; fingers out of '
      + 'wedge and gears.',
  },
  {
    id: 'mains-damp',
    text: 'Mains and damp kill: a battery is better; else a residual-current breaker, and plugs dry and off the ground. Mains wiring is a '
      + 'licensed electrician\'s work.',
  },
  { id: 'lasers', text: 'No laser toward people, vehicles or aircraft: it blinds, and it is a crime in many places.' },
  { id: 'feet-cables', text: 'Mark tripod feet and cables; red light, and look where you step.' },
  { id: 'cold', text: 'Dress for hours of standing still. Tell someone where you are.' },
  { id: 'local-rules', text: 'Local rules, licensed practice and the makers\' instructions come before anything said here.' },
];
