import type { FrameMetadata, Sourced } from '../../frames/frame.js';
import type { SessionSite } from '../../night/record/entry.js';
import { type Site, makeSite } from '../../sky/site.js';
import type { GivenValues } from './given.js';

/** The site used, with where each value came from. */
export interface SiteInForce {
  readonly site: Site;
  readonly latitudeDeg: Sourced<number>;
  readonly longitudeDeg: Sourced<number>;
  readonly elevationMetres: Sourced<number>;
  readonly pressureHectopascal: Sourced<number>;
  readonly temperatureCelsius: Sourced<number>;
}

type GivenSite = Pick<GivenValues, 'latitudeDeg' | 'longitudeDeg' | 'elevationMetres' | 'pressureHectopascal' | 'temperatureCelsius'>;

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
  const site = makeSite({
    latitudeDeg: latitudeDeg.value,
    longitudeDeg: longitudeDeg.value,
    elevationMetres: elevationMetres?.value ?? null,
    pressureHectopascal: given.pressureHectopascal?.value ?? null,
    temperatureCelsius: given.temperatureCelsius?.value ?? null,
  });
  const standard = 'standard air at this elevation';
  return {
    site, latitudeDeg, longitudeDeg,
    elevationMetres: elevationMetres ?? { value: 0, from: 'not given, sea level taken' },
    pressureHectopascal: given.pressureHectopascal ?? { value: site.pressureHectopascal, from: standard },
    temperatureCelsius: given.temperatureCelsius ?? { value: site.temperatureCelsius, from: standard },
  };
}
