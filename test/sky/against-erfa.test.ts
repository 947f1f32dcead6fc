/**
 * The sky against ERFA 2.0.0 (the numbers and the script that made them: testdata/erfa). The limits asked for stand
 * in the titles; where this code does much better a second, closer limit guards it.
 */
import { MakeTime } from 'astronomy-engine';
import { describe, expect, test } from 'vitest';
import { ARCSECOND, DEGREE, wrapSigned } from '../../src/geometry/angle.js';
import { type Vector, angleBetween, fromSpherical } from '../../src/geometry/vector.js';
import { siderealAngle, trueEquatorOfDate } from '../../src/sky/earth.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { refract, siteRefraction } from '../../src/sky/refraction.js';
import { type Site, makeSite } from '../../src/sky/site.js';
import { erfaTable } from './table.js';

describe('the pole of date, 2000 to 2050', () => {
  const table = erfaTable<readonly [utc: string, x: number, y: number, z: number]>('pole-of-date.json');
  const errors = table.rows.map(([utc, x, y, z]) => {
    const r = trueEquatorOfDate(MakeTime(new Date(utc)));
    return angleBetween([r[6], r[7], r[8]], [x, y, z]) / ARCSECOND;
  });

  test('is within 0.1″ of the celestial intermediate pole, and in fact within 0.01″', () => {
    expect(errors).toHaveLength(120);
    expect(Math.max(...errors)).toBeLessThan(0.01);
  });
});

describe('sidereal time, 2000 to 2050', () => {
  const table = erfaTable<readonly [utc: string, hours: number]>('sidereal-time.json');
  const errors = table.rows.map(([utc, hours]) =>
    Math.abs(wrapSigned(siderealAngle(MakeTime(new Date(utc))) - hours * 15 * DEGREE)) / (15 * ARCSECOND));

  test('is within 0.02 s of apparent sidereal time at Greenwich, and in fact within 0.002 s', () => {
    expect(errors).toHaveLength(120);
    expect(Math.max(...errors)).toBeLessThan(0.002);
  });
});

describe('the direction in which a star appears', () => {
  type Row = readonly [
    site: number, utc: string, raDeg: number, decDeg: number, azimuthDeg: number, zenithDistanceDeg: number, sunDistanceDeg: number,
    polarXArcsec: number, polarYArcsec: number,
  ];
  const { rows, sites = [] } = erfaTable<Row>('observed-places.json');
  const places = rows.map(([site, utc, raDeg, decDeg, azimuthDeg, zenithDistanceDeg, sunDistanceDeg, x, y]) => {
    const icrs = fromSpherical(raDeg * DEGREE, decDeg * DEGREE);
    const observed = fromSpherical((90 - azimuthDeg) * DEGREE, (90 - zenithDistanceDeg) * DEGREE);
    const sky = makeLocalSky(new Date(utc), siteOf(sites[site]), { x: x * ARCSECOND, y: y * ARCSECOND });
    return {
      altitudeDeg: 90 - zenithDistanceDeg,
      sunDistanceDeg,
      there: angleBetween(sky.toLocal(icrs), observed) / ARCSECOND,
      back: angleBetween(sky.fromLocal(observed), icrs) / ARCSECOND,
    };
  });
  const high = places.filter((place) => place.altitudeDeg >= 15);
  const awayFromSun = high.filter((place) => place.sunDistanceDeg > 20);

  test('is within 0.3″ of the observed place above 15° altitude, at ten sites from 70° south to 70° north', () => {
    expect(high.length).toBeGreaterThan(700);
    expect(Math.max(...high.map((place) => place.there))).toBeLessThan(0.3);
  });

  test('is within 0.05″ of it away from the Sun, which bends light', () => {
    expect(awayFromSun.length).toBeGreaterThan(650);
    expect(Math.max(...awayFromSun.map((place) => place.there))).toBeLessThan(0.05);
  });

  test('leads back to the catalogue place', () => {
    expect(Math.max(...awayFromSun.map((place) => place.back))).toBeLessThan(0.05);
  });
});

describe('refraction', () => {
  type Row = readonly [
    pressure: number, temperature: number, humidity: number, aArcsec: number, bArcsec: number, lifted: readonly number[],
  ];
  const altitudesDeg = [75, 45, 30, 20, 15];
  const { rows } = erfaTable<Row>('refraction.json');
  const compared = rows.map(([pressureHectopascal, temperatureCelsius, relativeHumidity, aArcsec, bArcsec, lifted]) => {
    const refraction = siteRefraction(airAt(pressureHectopascal, temperatureCelsius, relativeHumidity));
    return {
      a: Math.abs(refraction.a / ARCSECOND - aArcsec),
      b: Math.abs(refraction.b / ARCSECOND - bArcsec),
      lifted: altitudesDeg.map((altitudeDeg, i) => {
        const z = (90 - altitudeDeg) * DEGREE;
        return Math.abs((z - refract(refraction, z)) / ARCSECOND - (lifted[i] ?? NaN));
      }),
    };
  });

  test('has the constants A and B of refco from 550 to 1045 hPa, -30 to 35 °C, dry to wet', () => {
    expect(compared).toHaveLength(72);
    expect(Math.max(...compared.map(({ a }) => a))).toBeLessThan(1e-5);
    expect(Math.max(...compared.map(({ b }) => b))).toBeLessThan(1e-6);
  });

  test('is within 1″ at 20° altitude, and in fact within 0.01″ at 15°', () => {
    expect(Math.max(...compared.flatMap(({ lifted }) => lifted))).toBeLessThan(0.01);
  });

  test('is within 1″ of rays traced through an atmosphere down to 10° altitude', () => {
    // Hohenkerk & Sinclair 1985 (NAO Technical Note 63) as quoted in the documentation of ERFA's refco: apparent zenith
    // distance (degrees) and refraction (″) at 1005 hPa, 280.15 K, 80 % humidity, 0.574 µm.
    const traced: readonly (readonly [number, number])[] = [
      [10, 10.27], [20, 21.19], [30, 33.61], [40, 48.82], [45, 58.16], [50, 69.28], [55, 82.97], [60, 100.51], [65, 124.23],
      [70, 158.63], [72, 177.32], [74, 200.35], [76, 229.45], [78, 267.44], [80, 319.13],
    ];
    const refraction = siteRefraction(airAt(1005, 7, 0.8), 0.574);
    for (const [zenithDistanceDeg, arcsec] of traced) {
      const apparent = zenithDistanceDeg * DEGREE;
      const lifted = apparent + arcsec * ARCSECOND - refract(refraction, apparent + arcsec * ARCSECOND);
      expect(Math.abs(lifted / ARCSECOND - arcsec)).toBeLessThan(zenithDistanceDeg <= 70 ? 0.1 : 1);
    }
  });
});

test('the tables hold what their names say', () => {
  // Guards the comparison itself: a known place by hand. The pole of date leaves the pole of J2000 by 20.04″ a year
  // toward the equinox (Lieske et al. 1977), nutation at most 9.2″ besides.
  const { rows } = erfaTable<readonly [utc: string, x: number, y: number, z: number]>('pole-of-date.json');
  for (const [utc, x, y, z] of rows) {
    const years = (Date.parse(utc) - Date.UTC(2000, 0, 1, 12)) / (365.25 * 86400e3);
    const pole: Vector = [x, y, z];
    expect(Math.abs(angleBetween(pole, [0, 0, 1]) / ARCSECOND - 20.04 * years)).toBeLessThan(10);
  }
});

function siteOf(row: readonly [number, number, number, number, number, number] | undefined): Site {
  if (row === undefined) throw new Error('no such site in the table');
  const [latitudeDeg, longitudeDeg, elevationMetres, pressureHectopascal, temperatureCelsius, relativeHumidity] = row;
  return makeSite({ latitudeDeg, longitudeDeg, elevationMetres, pressureHectopascal, temperatureCelsius, relativeHumidity });
}

function airAt(pressureHectopascal: number, temperatureCelsius: number, relativeHumidity: number): Site {
  return siteOf([0, 0, 0, pressureHectopascal, temperatureCelsius, relativeHumidity]);
}
