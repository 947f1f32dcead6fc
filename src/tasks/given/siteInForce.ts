import type { FrameMetadata, Sourced } from '../../frames/frame.js';
import type { SessionSite } from '../../night/record/entry.js';
import { type Site, makeSite } from '../../sky/site.js';
import type { GivenValues } from './given.js';

/** Of the air; `assumed` where nobody said it. */
export interface AirValue extends Sourced<number> {
  readonly assumed?: true;
}

/** The site used, with where each value came from. */
export interface SiteInForce {
  readonly site: Site;
  readonly latitudeDeg: Sourced<number>;
  readonly longitudeDeg: Sourced<number>;
  readonly elevationMetres: Sourced<number>;
  readonly pressureHectopascal: AirValue;
  readonly temperatureCelsius: AirValue;
}

type GivenSite = Pick<GivenValues, 'latitudeDeg' | 'longitudeDeg' | 'elevationMetres' | 'pressureHectopascal' | 'temperatureCelsius'>;

/** Nearer to the Earth's pole than this, degrees of latitude, every way is south (north): azimuth means nothing. */
const LAST_AZIMUTH_DEG = 89;

/** The site for an answer in altitude and azimuth: {@link siteInForce}, but null beside the Earth's pole. */
export function siteWithAzimuth(
  given: GivenSite, frames: readonly { readonly metadata: FrameMetadata }[], session: SessionSite | null = null,
): SiteInForce | null {
  const site = siteInForce(given, frames, session);
  return site && Math.abs(site.latitudeDeg.value) <= LAST_AZIMUTH_DEG ? site : null;
}

/**
 * The site that person or rig file gave, else that of the first frame whose header has one, else the session's; null where latitude
 * or longitude is unknown.
 */
export function siteInForce(
  given: GivenSite, frames: readonly { readonly metadata: FrameMetadata }[], session: SessionSite | null = null,
): SiteInForce | null {
  const found = (key: 'latitudeDeg' | 'longitudeDeg' | 'elevationMetres'): Sourced<number> | null =>
    given[key] ?? frames.find((f) => f.metadata[key] !== null)?.metadata[key] ?? (session && { value: session[key], from: 'session' });
  const latitudeDeg = found('latitudeDeg');
  const longitudeDeg = found('longitudeDeg');
  if (!latitudeDeg || !longitudeDeg) return null;
  const elevationMetres = found('elevationMetres');
  const air = (key: 'pressureHectopascal' | 'temperatureCelsius'): Sourced<number> | null => {
    const before = session?.[key];
    return given[key] ?? (before === undefined ? null : { value: before, from: 'session' });
  };
  const [pressure, temperature] = [air('pressureHectopascal'), air('temperatureCelsius')];
  const site = makeSite({
    latitudeDeg: latitudeDeg.value,
    longitudeDeg: longitudeDeg.value,
    elevationMetres: elevationMetres?.value ?? null,
    pressureHectopascal: pressure?.value ?? null,
    temperatureCelsius: temperature?.value ?? null,
  });
  const standard = { from: 'standard air at this elevation', assumed: true } as const;
  return {
    site, latitudeDeg, longitudeDeg,
    elevationMetres: elevationMetres ?? { value: 0, from: 'not given, sea level taken' },
    pressureHectopascal: pressure ?? { value: site.pressureHectopascal, ...standard },
    temperatureCelsius: temperature ?? { value: site.temperatureCelsius, ...standard },
  };
}
