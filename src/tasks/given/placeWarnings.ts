import type { AxisError } from '../../axis/axisError.js';
import type { AxisResult } from '../../axis/axisResult.js';
import { errorElsewhere } from '../../axis/elsewhere.js';
import type { Warning } from '../../axis/warning.js';
import { ARCMINUTE, DEGREE } from '../../geometry/angle.js';
import type { SessionSite } from '../../night/record/entry.js';
import { printable } from '../../printable.js';
import type { LocalSky } from '../../sky/localSky.js';
import type { Given } from './given.js';
import { type FrameSaying, type SaidPlace, isOfRig, namedSiteAt, otherPlaces, placeWords, placesSaid } from './places.js';
import type { SiteInForce } from './siteInForce.js';

/** Where an axis points, and what is needed to compare places. */
export type PlacedAxis = Pick<AxisResult, 'axis' | 'aim' | 'hemisphere'>;

type PlaceGiven = Pick<Given, 'latitudeDeg' | 'longitudeDeg'> & { readonly rigFile?: Given['rigFile'] };

/**
 * Sources that give another place than the one used: both places, and the answer that the other would give. Where none of a rig file's
 * several sites is chosen, the one nearest to the header's place is offered.
 *
 * @param result null where the frames do not determine the axis
 * @param sky of one of the frames
 */
export function placeWarnings(
  result: PlacedAxis | null, sky: LocalSky, site: SiteInForce, given: PlaceGiven, frames: readonly FrameSaying[],
  session: SessionSite | null,
): Warning[] {
  const used = { latitudeDeg: site.latitudeDeg.value, longitudeDeg: site.longitudeDeg.value };
  const said = placesSaid(given, frames, session);
  const from = sourceOf(used, said) ?? site.latitudeDeg.from;
  const rig = given.rigFile?.rig;
  const byRig = isOfRig(site.latitudeDeg.from, given.rigFile ?? null);
  const differing = otherPlaces(used, said).map((other): Warning => {
    const named = rig?.site === undefined || byRig ? namedSiteAt(rig?.sites, other) : null;
    const todo = named === null
      ? 'Find out which is right, and correct the other.'
      : `The rig file's site ${printable(named)} is there: choose it.`;
    return {
      code: 'place-differs',
      message: `The place used is ${placeWords(used)} (${from}), but by ${other.from} it is ${placeWords(other)}. `
        + `${result ? `${effect(result, sky, site, other)} ` : ''}${todo}`,
      ...(named === null ? {} : { remedies: ['choose-site'] }),
    };
  });
  const offered = rig?.site || byRig ? null : namedSiteAt(rig?.sites, used);
  return offered === null ? differing : [...differing, {
    code: 'site-offered', remedies: ['choose-site'],
    message: `The place used is that of the rig file's site ${printable(offered)} (by ${from}). Choose it to have its elevation too.`,
  }];
}

/** What the sources say of the latitude, where some say north and some south; empty where they agree. */
export function latitudeSources(given: PlaceGiven, frames: readonly FrameSaying[], session: SessionSite | null): string {
  const said = placesSaid(given, frames, session).filter((place) => place.latitudeDeg !== null);
  const halves = [said.find((p) => p.latitudeDeg! >= 0), said.find((p) => p.latitudeDeg! < 0)].filter((p) => p !== undefined);
  return halves.map((p) => `${placeWords({ latitudeDeg: p.latitudeDeg, longitudeDeg: null })} by ${p.from}`).join(', ');
}

/** What the answer would be with another place, in a sentence. */
function effect(result: PlacedAxis, sky: LocalSky, site: SiteInForce, other: SaidPlace): string {
  const latitudeDeg = other.latitudeDeg ?? site.latitudeDeg.value, longitudeDeg = other.longitudeDeg ?? site.longitudeDeg.value;
  const there = errorElsewhere(result, sky, { ...site.site, latitude: latitudeDeg * DEGREE, longitude: longitudeDeg * DEGREE });
  if (there === null) {
    return `That is on the other side of the equator, and the frames show the ${result.hemisphere === 1 ? 'north' : 'south'} pole.`;
  }
  return `With that the axis would be ${errorWords(there)} instead of ${errorWords(errorElsewhere(result, sky, site.site)!)}.`;
}

/** "10.0′ high and 3.1′ west" */
function errorWords({ altitude, azimuth }: AxisError): string {
  const size = (angle: number): string => (Math.abs(angle) >= 2 * DEGREE
    ? `${(Math.abs(angle) / DEGREE).toFixed(1)}°` : `${(Math.abs(angle) / ARCMINUTE).toFixed(1)}′`);
  return `${size(altitude)} ${altitude < 0 ? 'low' : 'high'} and ${size(azimuth)} ${azimuth < 0 ? 'west' : 'east'}`;
}

function sourceOf(used: { readonly latitudeDeg: number; readonly longitudeDeg: number }, said: readonly SaidPlace[]): string | null {
  return said.find((p) => p.latitudeDeg === used.latitudeDeg && p.longitudeDeg === used.longitudeDeg)?.from ?? null;
}
