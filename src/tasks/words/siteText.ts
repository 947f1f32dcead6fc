import type { SiteInForce } from '../given/siteInForce.js';
import { wrap } from './numberWords.js';

/** The site and air used and their sources. `standardAir`: also where the air is only assumed. */
export function siteText(site: SiteInForce, width = 60, standardAir = true): string {
  const { latitudeDeg: lat, longitudeDeg: lon, elevationMetres: up, pressureHectopascal: p, temperatureCelsius: t } = site;
  const place =
    `${Math.abs(lat.value).toFixed(3)}° ${lat.value >= 0 ? 'N' : 'S'}, ${Math.abs(lon.value).toFixed(3)}° ${lon.value >= 0 ? 'E' : 'W'}, `
      + `${up.value.toFixed(0)} m`;
  const from = [...new Set([lat.from, lon.from, up.from])].join(', ');
  const air = `${p.value.toFixed(0)} hPa, ${t.value.toFixed(0)} °C`;
  const airFrom = [...new Set([p.from, t.from])].join(', ');
  const where = wrap(`site ${place} (${from})`, width, '  ');
  return !standardAir && p.assumed && t.assumed ? where : [where, wrap(`air ${air} (${airFrom})`, width, '  ')].join('\n');
}
