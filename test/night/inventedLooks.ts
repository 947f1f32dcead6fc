/** Nights of looks without pixels: invented stars seen by a camera on a mount whose knobs, declination and right ascension are turned. */
import { axisWithError } from '../../src/axis/axisError.js';
import type { AxisFrame } from '../../src/axis/estimateMount.js';
import { ARCMINUTE, DEGREE } from '../../src/geometry/angle.js';
import { compose, rotationAbout } from '../../src/geometry/rotation.js';
import { type Vector, cross, unit } from '../../src/geometry/vector.js';
import { type Look, lookOf } from '../../src/night/look.js';
import { type Night, emptyNight, withLook } from '../../src/night/night.js';
import type { Said } from '../../src/night/poseLook.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { type Site, makeSite } from '../../src/sky/site.js';
import { type InventedNight, LENS, SITE, poseNear, seePoses } from '../axis/sightings.js';

/** What was done before a look. Angles as the hands see them. */
export interface Done {
  /** Minutes since the look before; 2 unless given. */
  readonly minutes?: number;
  /** Right ascension, degrees, west positive. */
  readonly west?: number;
  /** The knobs, arcminutes: the axis raised, moved east as the knob's angle. */
  readonly raise?: number;
  readonly east?: number;
  /** The declination, arcminutes, its axis level: in one frame alone it looks just as the altitude knob does. */
  readonly declination?: number;
  /** The camera, arcminutes, about a direction at right angles to the axis that no knob turns about. */
  readonly camera?: number;
  readonly said?: Said;
}

export interface InventedLook {
  readonly look: Look;
  readonly frame: AxisFrame;
  /** Where the axis is, from the true pole, arcminutes: too high, too far east. */
  readonly altitude: number;
  readonly azimuth: number;
}

export const SOUTHERN = makeSite({
  latitudeDeg: -34.1, longitudeDeg: 18.4, elevationMetres: 300, pressureHectopascal: 978, temperatureCelsius: 12,
});
/** When the first frame was taken. */
export const FIRST = Date.UTC(2026, 10, 25, 20);

export interface InventedStart extends Pick<InventedNight, 'seed' | 'sigmaPixels' | 'stars' | 'lens'> {
  readonly site?: Site;
  readonly altitude: number;
  readonly azimuth: number;
}

/** The looks of a night that begins with an axis off by so much; what was done before the first is not looked at. */
export function inventLooks(start: InventedStart, deeds: readonly Done[]): InventedLook[] {
  const site = start.site ?? SITE;
  const hemisphere = site.latitude >= 0 ? 1 : -1;
  const lens = start.lens ?? LENS;
  let [altitude, azimuth] = [start.altitude, start.azimuth];
  let time = FIRST;
  const pole = makeLocalSky(new Date(time), site).truePole(hemisphere);
  const axisNow = (): Vector => axisWithError(pole, altitude * ARCMINUTE, azimuth * ARCMINUTE);
  let pose = poseNear(axisNow(), lens);
  const looks = deeds.map(({ minutes = 2, west = 0, raise = 0, east = 0, declination = 0, camera = 0 }, i) => {
    if (i > 0) {
      time += minutes * 60_000;
      // Right-handed about the elevated pole is eastward in the north, westward in the south.
      pose = compose(rotationAbout(axisNow(), -hemisphere * west * DEGREE), pose);
      const axis = axisNow();
      pose = compose(rotationAbout(unit(cross(axis, [0.3, 0.5, 0.2])), camera * ARCMINUTE), pose);
      pose = compose(rotationAbout(unit(cross(axis, [0, 0, 1])), (raise + declination) * ARCMINUTE), pose);
      altitude += raise;
      const raised = axisNow();
      azimuth += east;
      pose = compose(aboutVertical(raised, axisNow()), pose);
    }
    return { sky: makeLocalSky(new Date(time), site), pose, altitude, azimuth };
  });
  const frames = seePoses(looks.map((l) => l.pose), looks.map((l) => l.sky), hemisphere, { sigmaPixels: 0.05, stars: 250, ...start, lens });
  return looks.map(({ altitude: up, azimuth: right, sky }, i) => ({
    altitude: up, azimuth: right, frame: frames[i]!,
    look: lookOf(
      { file: `frame-${i + 1}.fits`, width: frames[i]!.width, height: frames[i]!.height, sky, identification: frames[i]!.identification },
      deeds[i]!.said,
    ),
  }));
}

/** The turn about the vertical that takes one direction above another: what the azimuth knob did. */
function aboutVertical(from: Vector, to: Vector): ReturnType<typeof rotationAbout> {
  return rotationAbout([0, 0, 1], Math.atan2(to[1], to[0]) - Math.atan2(from[1], from[0]));
}

/** The night of some looks, as they come. */
export function nightOfInvented(looks: readonly InventedLook[], site: Site | null = SITE): Night {
  const hemisphere = site && site.latitude < 0 ? -1 : 1;
  return looks.reduce((night, { look }) => withLook(night, look).night, emptyNight({ site, hemisphere, anchor: null }));
}

