// Writes magvar.json from the npm package magvar (2.2.0), which carries its own copy of the WMM2025 coefficients and its own spherical
// harmonics; and published.csv, the test values published with the WMM2025 as the package geomagnetism ships them.
// In a folder where both are installed:  node make.mjs FOLDER
import { readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';

const require = createRequire(join(process.argv[2] ?? '.', 'x.js'));
const { calculateMagneticField } = require('magvar');
const here = (name) => new URL(name, import.meta.url);
let seed = 2025;
const random = () => (seed = (seed * 16807) % 2147483647) / 2147483647;
const rows = Array.from({ length: 200 }, () => {
  const [year, latitude, longitude, km] = [2025 + 5 * random(), Math.asin(2 * random() - 1) * 180 / Math.PI, 360 * random() - 180, 5 * random()]
    .map((v, i) => Number(v.toFixed(i === 0 ? 4 : 3)));
  const f = calculateMagneticField(year, latitude, longitude, km);
  return [year, latitude, longitude, km, Number(f.declination.toFixed(4)), Number(f.h.toFixed(2))];
});
writeFileSync(here('magvar.json'), `{ "columns": ["year", "latitudeDeg", "longitudeDeg", "elevationKm", "declinationDeg", "horizontalNanotesla"], "rows": [\n${rows.map((r) => JSON.stringify(r)).join(',\n')}\n] }\n`);
const [header, ...lines] = readFileSync(join(process.argv[2] ?? '.', 'node_modules/geomagnetism/test/values.csv'), 'utf8').trim().split(/\r?\n/);
writeFileSync(here('published.csv'), [header, ...lines.filter((l) => /^202[5-9]\.[05]00000/.test(l))].join('\n') + '\n');
