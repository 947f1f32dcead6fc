import { describe, expect, test } from 'vitest';
import { DEGREE } from '../../src/geometry/angle.js';
import { makeSite, standardPressure, standardTemperature } from '../../src/sky/site.js';

describe('the standard atmosphere', () => {
  // ISO 2533:1975 (the same as the ICAO and U.S. Standard Atmosphere 1976 here), rows from memory; elevation is taken as
  // geopotential.
  test.each([[0, 1013.25, 15], [1000, 898.75, 8.5], [2000, 794.95, 2], [3000, 701.09, -4.5], [5000, 540.20, -17.5]])(
    'has at %d m the pressure %d hPa and %d °C',
    (metres, hectopascal, celsius) => {
      expect(Math.abs(standardPressure(metres) - hectopascal)).toBeLessThan(0.05);
      expect(standardTemperature(metres)).toBeCloseTo(celsius, 9);
    },
  );
});

describe('a site', () => {
  test('takes angles in degrees, east positive, and keeps radians', () => {
    const site = makeSite({ latitudeDeg: -36.9, longitudeDeg: 174.7 });
    expect(site.latitude).toBeCloseTo(-36.9 * DEGREE, 15);
    expect(site.longitude).toBeCloseTo(174.7 * DEGREE, 15);
  });

  test('gets its air from the standard atmosphere where none is given, and says so', () => {
    const site = makeSite({ latitudeDeg: 40, longitudeDeg: 0, elevationMetres: 2000, pressureHectopascal: null });
    expect(site.pressureHectopascal).toBeCloseTo(standardPressure(2000), 9);
    expect(site.temperatureCelsius).toBe(2);
    expect(site.airKnown).toBe(false);
  });

  test('knows its air only when pressure and temperature are both given', () => {
    const place = { latitudeDeg: 40, longitudeDeg: 0 };
    expect(makeSite({ ...place, pressureHectopascal: 950, temperatureCelsius: 3 }).airKnown).toBe(true);
    expect(makeSite({ ...place, pressureHectopascal: 950 }).airKnown).toBe(false);
    expect(makeSite({ ...place, temperatureCelsius: 0 }).airKnown).toBe(false);
  });
});
