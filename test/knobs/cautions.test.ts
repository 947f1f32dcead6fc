import { describe, expect, it } from 'vitest';
import { ARCMINUTE } from '../../src/geometry/angle.js';
import { adviseTurns } from '../../src/knobs/adviseTurns.js';
import { CAUTIONS, cautionsFor } from '../../src/knobs/cautions.js';
import type { FacingRig } from '../../src/knobs/rigFacing.js';

const advice = (azimuth: number, altitude: number, rig: FacingRig | null = null): ReturnType<typeof adviseTurns> =>
  adviseTurns(
    { azimuth: azimuth * ARCMINUTE, altitude: altitude * ARCMINUTE, sigma: { azimuth: ARCMINUTE / 60, altitude: ARCMINUTE / 60 } }, rig,
    null,
  );
const ids = (...args: Parameters<typeof cautionsFor>): string[] => cautionsFor(...args).map((c) => c.id);

describe('cautions', () => {
  it('speak of the knob that is about to be turned, and of no other', () => {
    expect(ids({ doing: 'turn', advice: advice(20, 0), rig: null }, [])).toEqual(['azimuth-screws', 'cables', 'red-light', 'maker']);
    expect(ids({ doing: 'turn', advice: advice(0, 20), rig: null }, [])).toEqual(['tube-weight', 'cables', 'red-light', 'maker']);
    expect(ids({ doing: 'turn', advice: advice(0, 0), rig: null }, [])).toEqual([]);
  });
  it('speak of the counterweight bar before the mount is rotated', () => {
    expect(ids({ doing: 'rotate', advice: [], rig: null }, [])).toEqual(['counterweight-bar', 'cables', 'red-light']);
  });
  it('leave out the second screw of a knob that has none', () => {
    const rig: FacingRig = { knobs: { azimuth: { arcminPerTurn: 30, clockwise: 'east' } } };
    expect(ids({ doing: 'turn', advice: advice(20, 0, rig), rig }, [])).not.toContain('azimuth-screws');
  });
  it('come once a session unless asked again', () => {
    const moment = { doing: 'turn', advice: advice(20, 20), rig: null } as const;
    const first = ids(moment, []);
    expect(ids(moment, first)).toEqual([]);
    expect(ids(moment, ['red-light'])).toEqual(first.filter((id) => id !== 'red-light'));
    expect(ids(moment, first, true)).toEqual(first);
  });
  it('are short, and each has its own id', () => {
    expect(new Set(CAUTIONS.map((c) => c.id)).size).toBe(CAUTIONS.length);
    expect(CAUTIONS.every((c) => c.text.length <= 120)).toBe(true);
  });
});
