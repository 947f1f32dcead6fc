import type { Sourced } from '../../frames/frame.js';
import type { SessionSite } from '../../night/record/entry.js';
import { type Site, makeSite } from '../../sky/site.js';
import type { CommonOptions } from '../../cli/commonOptions.js';
import type { InForce } from './inForce.js';
import type { FrameStars } from '../recognise/starsOfFrame.js';

/** The site used, with where each value came from. */
export interface SiteInForce {
  readonly site: Site;
  readonly latitudeDeg: Sourced<number>;
  readonly longitudeDeg: Sourced<number>;
  readonly elevationMetres: Sourced<number>;
  readonly pressureHectopascal: Sourced<number>;
  readonly temperatureCelsius: Sourced<number>;
}

/**
 * The site from the command line, else from the first frame whose header has one, else the session's; null where latitude or
 * longitude is unknown.
 */
export function siteInForce(options: CommonOptions & Partial<InForce>, frames: readonly FrameStars[], session: SessionSite | null = null): SiteInForce | null {
  const header = (key: 'latitudeDeg' | 'longitudeDeg' | 'elevationMetres'): Sourced<number> | null =>
    frames.find((f) => f.metadata[key] !== null)?.metadata[key] ?? null;
  const given = (value: number | undefined, option: string): Sourced<number> | null =>
    value === undefined ? null : { value, from: option };
  const before = (key: keyof SessionSite): Sourced<number> | null => given(session?.[key], 'session');
  const said = options.given;
  const latitudeDeg = said?.latitudeDeg ?? given(options.latitude, '--latitude') ?? header('latitudeDeg') ?? before('latitudeDeg');
  const longitudeDeg = said?.longitudeDeg ?? given(options.longitude, '--longitude') ?? header('longitudeDeg') ?? before('longitudeDeg');
  if (!latitudeDeg || !longitudeDeg) return null;
  const elevationMetres = said?.elevationMetres ?? given(options.elevation, '--elevation') ?? header('elevationMetres') ?? before('elevationMetres');
  const site = makeSite({
    latitudeDeg: latitudeDeg.value,
    longitudeDeg: longitudeDeg.value,
    elevationMetres: elevationMetres?.value ?? null,
    pressureHectopascal: options.pressure ?? null,
    temperatureCelsius: options.temperature ?? null,
  });
  return {
    site, latitudeDeg, longitudeDeg,
    elevationMetres: elevationMetres ?? { value: 0, from: 'not given, sea level taken' },
    pressureHectopascal: given(options.pressure, '--pressure') ?? { value: site.pressureHectopascal, from: 'standard air at this elevation' },
    temperatureCelsius: given(options.temperature, '--temperature') ?? { value: site.temperatureCelsius, from: 'standard air at this elevation' },
  };
}
