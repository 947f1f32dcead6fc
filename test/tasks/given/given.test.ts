import { describe, expect, it } from 'vitest';
import { parseRig } from '../../../src/knobs/rig.js';
import { givenValues } from '../../../src/tasks/given/given.js';
import type { RigInForce } from '../../../src/tasks/given/rigInForce.js';

const path = '/rigs/poleward.json';
const found: RigInForce = {
  path, from: 'current folder', rig: parseRig(JSON.stringify({
    site: { latitudeDeg: 46.5, longitudeDeg: 11.2, elevationMetres: 1200 }, clock: { utcOffset: '-03:30', offsetSeconds: 7 },
    camera: { focalLengthMillimetres: 400 },
  }), path),
};
const said = (value: number): { value: number; from: string } => ({ value, from: 'said' });

describe('what is given', () => {
  it('is what the person said before what the rig file says, each with its origin', () => {
    const given = givenValues({ latitudeDeg: said(46.6), pixelSizeMicrometres: said(3) }, found);
    expect(given).toEqual({
      latitudeDeg: said(46.6), longitudeDeg: { value: 11.2, from: `rig file ${path}` },
      elevationMetres: { value: 1200, from: `rig file ${path}` },
      pressureHectopascal: null, temperatureCelsius: null, utcOffsetMinutes: { value: -210, from: `rig file ${path}` }, zoneName: null,
      clockAheadSeconds: { value: 7, from: `rig file ${path}` }, focalLengthMillimetres: { value: 400, from: `rig file ${path}` },
      pixelSizeMicrometres: said(3),
    });
    expect(Object.values(givenValues({}, null)).every((value) => value === null)).toBe(true);
  });
  it('does not carry the rig\'s elevation to another place', () => {
    expect(givenValues({ latitudeDeg: said(10), longitudeDeg: said(20) }, found).elevationMetres).toBeNull();
    expect(givenValues({ latitudeDeg: said(46.45), longitudeDeg: said(371.2) }, found).elevationMetres).toMatchObject({ value: 1200 });
  });
});
