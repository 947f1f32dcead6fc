import { readdirSync, readFileSync } from 'node:fs';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import { starsOfFile } from '../../src/node/starsOfFile.js';
import { identifyFrames } from '../../src/tasks/recognise/identifyFrames.js';
import { makeReference, startRecognition } from '../../src/tasks/recognise/recognition.js';
import { makeSite } from '../../src/sky/site.js';
import { lookOf } from '../../src/night/look.js';
import { emptyNight, withLook, answerAt, nightOf } from '../../src/night/night.js';
const sky = process.argv[2]!;
const dir = `../shared/skies/${sky}`;
const truth = JSON.parse(readFileSync(`${dir}/truth.json`, 'utf8'));
console.log(JSON.stringify(truth).slice(0, 600));
const files = readdirSync(dir).filter((f) => f.endsWith('.fits')).sort().map((f) => `${dir}/${f}`);
const results = [] as any[]; for (const f of files) results.push(await starsOfFile(f, {}));
const s = truth.site;
const site = makeSite({ latitudeDeg: s.latitudeDeg, longitudeDeg: s.longitudeDeg, elevationMetres: s.elevationMetres ?? s.elevationM, pressureHectopascal: s.pressureHectopascal ?? s.pressureHpa, temperatureCelsius: s.temperatureCelsius ?? s.temperatureC });
const given = { focalLengthMillimetres: null, pixelSizeMicrometres: null };
const { outcomes } = identifyFrames(results, makeReference(site, given, embeddedCatalogue()), startRecognition());
let night = emptyNight({ site, hemisphere: site.latitude > 0 ? 1 : -1, anchor: null });
const looks = outcomes.map((o) => { const k = o.known!; return lookOf({ file: k.frame.file, width: k.frame.width, height: k.frame.height, sky: k.sky, identification: k.identification }); });
for (const look of looks) {
  const t = performance.now();
  night = withLook(night, JSON.parse(JSON.stringify(look))).night;
  const a = night.answers.at(-1)!;
  const r = answerAt(night, 'refracted');
  console.log(look.file, a.happened, a.unconfirmed, a.doubt?.probability, r && [r.axis.fromTruePole.altitude * 3437.7468, r.axis.fromTruePole.azimuth * 3437.7468, r.axis.fromTruePole.separation * 3437.7468, 'sigma″', r.axis.sigma.altitude * 206265, r.axis.sigma.azimuth * 206265, 'ms', performance.now() - t].map((v) => typeof v === 'number' ? v.toFixed(4) : v).join(' '));
}
const again = nightOf(night.setting, [...looks].reverse());
console.log(JSON.stringify(answerAt(again, 'refracted')!.axis.fromTruePole) === JSON.stringify(answerAt(night, 'refracted')!.axis.fromTruePole), JSON.stringify(looks[0]).length);
