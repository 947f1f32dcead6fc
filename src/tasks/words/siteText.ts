import type { SiteInForce } from '../given/siteInForce.js';
import { wrap } from './numberWords.js';

/** The site and air used and their sources. `full`: also the air where it is only assumed, and the path of a rig file. */
export function siteText(site: SiteInForce, width = 60, full = true): string {
  const { latitudeDeg: lat, longitudeDeg: lon, elevationMetres: up, pressureHectopascal: p, temperatureCelsius: t } = site;
  const place =
    `${Math.abs(lat.value).toFixed(3)}° ${lat.value >= 0 ? 'N' : 'S'}, ${Math.abs(lon.value).toFixed(3)}° ${lon.value >= 0 ? 'E' : 'W'}, `
      + `${up.value.toFixed(0)} m`;
  const sources = [...new Set([lat.from, lon.from, up.from])];
  const from = (full ? sources : sources.map((source) => source.replace(/^rig file .*/, 'rig file'))).join(', ');
  const air = `${p.value.toFixed(0)} hPa, ${t.value.toFixed(0)} °C`;
  const airFrom = [...new Set([p.from, t.from])].join(', ');
  const where = wrap(`site ${place} (${from})`, width, '  ');
  return !full && p.assumed && t.assumed ? where : [where, wrap(`air ${air} (${airFrom})`, width, '  ')].join('\n');
}
