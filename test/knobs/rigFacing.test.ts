import { describe, expect, it } from 'vitest';
import { type Rig, parseRig } from '../../src/knobs/rig.js';
import { rigByHand, rigFacing } from '../../src/knobs/rigFacing.js';

type Way = 'left' | 'right' | 'east' | 'west';
const NORTH = { latitudeDeg: 46, longitudeDeg: 11 };
const SOUTH = { latitudeDeg: -33, longitudeDeg: 18 };
const rig = (clockwise: Way, more: Partial<Rig> = {}): Rig => ({ ...more, knobs: { azimuth: { arcminPerTurn: 48, clockwise } } });
const facing = (one: Rig, hemisphere: 1 | -1): string => rigFacing(one, hemisphere).knobs!.azimuth!.clockwise!;

describe('the azimuth knob under the pole of a hemisphere', () => {
  it.each([
    // Facing north, east is at the right hand; facing south, at the left.
    ['right', 1, 'east'], ['right', -1, 'west'], ['left', 1, 'west'], ['left', -1, 'east'],
  ] as const)('by hand %s is under the pole %i the %s, whatever the site of the file', (way, hemisphere, expected) => {
    for (const more of [{}, { site: NORTH }, { site: SOUTH }]) expect(facing(rig(way, more), hemisphere)).toBe(expected);
  });

  it.each([
    [NORTH, 1, false], [NORTH, -1, true], [SOUTH, -1, false], [SOUTH, 1, true], [undefined, 1, false], [undefined, -1, false],
  ] as const)('by the compass it holds at the file\'s own site, and turns across the equator (%o, %i)', (site, hemisphere, turned) => {
    const more = site ? { site } : {};
    expect(facing(rig('east', more), hemisphere)).toBe(turned ? 'west' : 'east');
    expect(facing(rig('west', more), hemisphere)).toBe(turned ? 'east' : 'west');
  });

  it('said by hand is the same screw', () => {
    for (const way of ['left', 'right', 'east', 'west'] as const) {
      for (const site of [NORTH, SOUTH]) {
        for (const hemisphere of [1, -1] as const) {
          expect(facing({ ...rigByHand(rig(way, { site })), site: SOUTH }, hemisphere)).toBe(facing(rig(way, { site }), hemisphere));
        }
      }
    }
  });

  it('without a direction stays without, and altitude stays as it is', () => {
    const plain: Rig = { site: SOUTH, knobs: { azimuth: { arcminPerTurn: 48 }, altitude: { clockwise: 'lower' } } };
    expect(rigFacing(plain, 1)).toEqual(plain);
    const left: Rig = { ...plain, knobs: { ...plain.knobs, azimuth: { clockwise: 'left' } } };
    expect(rigFacing(left, 1).knobs!.altitude).toEqual({ clockwise: 'lower' });
  });
});

describe('a rig file with sites on both sides of the equator and none of its own', () => {
  const text = (clockwise: Way, sites: object): string => JSON.stringify({ sites, knobs: { azimuth: { clockwise } } });
  it('must say left or right', () => {
    expect(() => parseRig(text('east', { a: NORTH, b: SOUTH })))
      .toThrow(/knobs\.azimuth\.clockwise is "east", but the sites are on both sides/);
    expect(parseRig(text('left', { a: NORTH, b: SOUTH })).knobs!.azimuth!.clockwise).toBe('left');
    expect(parseRig(text('west', { a: NORTH, b: { latitudeDeg: 12, longitudeDeg: 0 } })).knobs!.azimuth!.clockwise).toBe('west');
  });
});
