import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { type Rotation, apply, compose, inverse, rotationAbout } from '../../src/geometry/rotation.js';
import { type Vector, add, cross, scale, unit } from '../../src/geometry/vector.js';
import { type Lens, toPixel } from '../../src/identify/lens.js';
import { type CapStars, type StarCap, hemisphereStars, regionStars, starCap } from '../../src/identify/starCap.js';
import type { Random } from '../../src/simulate/random.js';
import { type Catalogue, parseCatalogue, properMotionScatter } from '../../src/sky/catalogue.js';
import { type SkyCatalogue, type StarCatalogue, openSkyCatalogue } from '../../src/sky/catalogueSky.js';
import { type Hemisphere, type LocalSky, makeLocalSky } from '../../src/sky/localSky.js';
import { makeSite } from '../../src/sky/site.js';
import type { DetectedStar } from '../../src/stars/star.js';

/** The catalogue that the program carries. */
const file = fileURLToPath(new URL('../../src/sky/catalogue/stars.bin', import.meta.url));
export const catalogue: Catalogue = parseCatalogue(readFileSync(file));

const halves = new Map<Hemisphere, CapStars>();

export function half(hemisphere: Hemisphere): CapStars {
  const known = halves.get(hemisphere) ?? hemisphereStars(catalogue, hemisphere);
  halves.set(hemisphere, known);
  return known;
}

/** How a list of detections is disturbed. All invented, to be worse than most nights. */
export interface Spoil {
  readonly name: string;
  /** Share of the catalogue's stars that are not seen, scattered at random. */
  readonly hidden: number;
  /** A cloud or a tree line hides all stars on one side, half of the picture. */
  readonly cloud: boolean;
  /** Share of the detections that are no catalogue star. */
  readonly spurious: number;
  /** Where those are: all over the picture, or all on the side the cloud or tree line hides. */
  readonly spuriousWhere: 'anywhere' | 'cloud';
  /** Their brightness: like that of the stars, or brighter than them all. */
  readonly spuriousBright: boolean;
  /** One-sigma scatter of brightness, magnitudes. */
  readonly magnitudeNoise: number;
  /** How many of the brightest look alike, for saturation. */
  readonly saturated: number;
  /** Detections that a chopped-up satellite trail leaves, brighter than the stars. */
  readonly trail: number;
}

const clean: Spoil = {
  name: 'clean', hidden: 0, cloud: false, spurious: 0.1, spuriousWhere: 'anywhere', spuriousBright: false,
  magnitudeNoise: 0.2, saturated: 0, trail: 0,
};

export const SPOILS: readonly Spoil[] = [
  clean,
  { ...clean, name: 'quarter', hidden: 0.25, spurious: 0.25, magnitudeNoise: 0.3, saturated: 3 },
  { ...clean, name: 'half', hidden: 0.5, spurious: 0.5, magnitudeNoise: 0.4, saturated: 5 },
  { ...clean, name: 'cloud', cloud: true, spurious: 0.5, magnitudeNoise: 0.4, saturated: 3 },
  { ...clean, name: 'trees', cloud: true, spurious: 0.5, spuriousWhere: 'cloud', spuriousBright: true, magnitudeNoise: 0.4 },
  { ...clean, name: 'trail', hidden: 0.3, spurious: 0.3, magnitudeNoise: 0.4, saturated: 3, trail: 16 },
];

export interface FieldPlan {
  readonly hemisphere: Hemisphere;
  /** Field width, the longer side, degrees. */
  readonly widthDeg: number;
  /** Distance of the picture's centre from the refracted pole, degrees. */
  readonly fromPoleDeg: number;
  readonly width: number;
  readonly height: number;
  /** The most catalogue stars that the exposure would show under a perfect sky. */
  readonly depth: number;
  readonly spoil: Spoil;
  /** Relative distortion at the corner. */
  readonly cornerDistortion: number;
  /** Offset of the principal point, as a share of the width. */
  readonly centreOff: number;
  readonly latitudeDeg: number;
}

export interface SimulatedField {
  readonly detections: DetectedStar[];
  /** Catalogue number of each detection, -1 for what is none. */
  readonly truth: Int32Array;
  /** How many detections are catalogue stars. */
  readonly real: number;
  readonly cap: StarCap;
  readonly pose: Rotation;
  readonly lens: Lens;
}

/** Makes the list of detections of a field near a pole, straight from the catalogue, without pixels. */
export function simulateField(plan: FieldPlan, random: Random): SimulatedField {
  const { hemisphere } = plan;
  const site = makeSite({ latitudeDeg: hemisphere * plan.latitudeDeg, longitudeDeg: 360 * random.uniform() - 180, elevationMetres: 300 });
  const time = new Date(Date.UTC(2024, 0, 1) + 4 * 365.25 * 86_400_000 * random.uniform());
  return fieldIn(starCap(half(hemisphere), makeLocalSky(time, site)), plan, time, random);
}

/** The stars that the program knows of the whole sky. */
export const sky: SkyCatalogue = openSkyCatalogue(
  readFileSync(fileURLToPath(new URL('../../src/sky/catalogue/sky.bin', import.meta.url))), catalogue);
export const wholeCatalogue: StarCatalogue = { ...catalogue, whole: () => sky };

export type AnywherePlan = Omit<FieldPlan, 'hemisphere' | 'latitudeDeg'>;

/**
 * The same around any direction.
 *
 * @param middle ICRS
 * @param local the sky in whose frame the pose is
 */
export function simulateAnywhere(plan: AnywherePlan, middle: Vector, local: LocalSky, random: Random): SimulatedField {
  const halfWidth = (0.7 * plan.widthDeg + plan.fromPoleDeg) * DEGREE;
  const radius = Math.min(1.4, 1.3 * halfWidth + 0.01);
  // Four times the stars that are wanted, or sixty, at a growth of 0.45 in the logarithm a magnitude.
  const faintest = 11 + Math.log10((2 * Math.max(60, 4 * plan.depth)) / (1 - Math.cos(radius)) / 850_000) / 0.45;
  const stars = regionStars(sky, middle, radius, radius, () => (faintest > 10.5 ? 11 : faintest), local.time);
  return fieldIn(starCap(stars, local), { ...plan, hemisphere: 1, latitudeDeg: 0 }, local.time, random);
}

function fieldIn(cap: StarCap, plan: FieldPlan, time: Date, random: Random): SimulatedField {
  const { width, height, spoil } = plan;
  cap.reveal(Math.PI);
  const focalPixels = width / 2 / Math.tan((plan.widthDeg * DEGREE) / 2);
  const corner = (Math.hypot(width, height) / 2 / focalPixels) ** 2;
  const direction = 2 * Math.PI * random.uniform();
  const lens: Lens = {
    focalPixels,
    centreX: (width - 1) / 2 + plan.centreOff * width * Math.cos(direction),
    centreY: (height - 1) / 2 + plan.centreOff * width * Math.sin(direction),
    radial: plan.cornerDistortion === 0 ? [] : [plan.cornerDistortion / corner],
    mirrored: random.uniform() < 0.5,
  };
  const pose = randomPose(cap.centre, plan.fromPoleDeg * DEGREE, random);
  const places = starPlaces(cap, pose, lens, plan, time, random);

  // Magnitudes as the picture shows them, and which stars the sky or the site hides.
  const side = 2 * Math.PI * random.uniform();
  const behindCloud = (x: number, y: number): boolean =>
    (x - width / 2) * Math.cos(side) + (y - height / 2) * Math.sin(side) > 0;
  const seen: { x: number; y: number; magnitude: number; star: number }[] = [];
  for (const p of places) {
    if (spoil.cloud && behindCloud(p.x, p.y)) continue;
    if (random.uniform() < spoil.hidden) continue;
    seen.push({ ...p, magnitude: p.magnitude + spoil.magnitudeNoise * random.normal(), star: p.star });
  }
  const real = seen.length;
  const magnitudes = seen.map((s) => s.magnitude).sort((a, b) => a - b);
  const brightest = magnitudes[0] ?? 8;
  const spurious = Math.round((real * spoil.spurious) / (1 - spoil.spurious));
  for (let i = 0; i < spurious; i++) {
    let x = 0, y = 0;
    do { x = (width - 1) * random.uniform(); y = (height - 1) * random.uniform(); }
    while (spoil.spuriousWhere === 'cloud' && !behindCloud(x, y));
    const magnitude = spoil.spuriousBright ? brightest - 2 * random.uniform()
      : (magnitudes[Math.floor(magnitudes.length * random.uniform())] ?? 8) + spoil.magnitudeNoise * random.normal();
    seen.push({ x, y, magnitude, star: -1 });
  }
  const [x0, y0, x1, y1] = [random.uniform(), random.uniform(), random.uniform(), random.uniform()];
  for (let i = 0; i < spoil.trail; i++) {
    const t = (i + random.uniform()) / spoil.trail;
    const x = (x0 + (x1 - x0) * t) * (width - 1), y = (y0 + (y1 - y0) * t) * (height - 1);
    seen.push({ x, y, magnitude: brightest - random.uniform(), star: -1 });
  }
  seen.sort((a, b) => a.magnitude - b.magnitude);
  const limit = spoil.saturated > 0 ? seen[Math.min(spoil.saturated, seen.length) - 1]?.magnitude ?? -9 : -9;
  const detections = seen.map(({ x, y, magnitude }): { star: DetectedStar; key: number } => ({
    star: {
      x, y, sigma: 0.05 + 0.25 * random.uniform(), flux: 10 ** (-0.4 * (Math.max(magnitude, limit) - 12)), signalToNoise: 20,
      fwhm: 2.5, elongation: 1, saturated: magnitude <= limit, blended: false,
    },
    // Saturated ones lose their order.
    key: magnitude <= limit ? limit - random.uniform() : magnitude,
  }));
  const order = detections.map((_, i) => i).sort((a, b) => detections[a]!.key - detections[b]!.key);
  const shaken = order.map((i): DetectedStar => {
    const d: DetectedStar = detections[i]!.star;
    return { ...d, x: d.x + d.sigma * random.normal(), y: d.y + d.sigma * random.normal() };
  });
  return { detections: shaken, truth: Int32Array.from(order, (i) => seen[i]!.star), real, cap, pose, lens };
}

/** A pose whose optical axis is `distance` (radians) from a direction, otherwise random. */
export function randomPose(pole: Vector, distance: number, random: Random): Rotation {
  const side = unit(cross(pole, unit([random.normal(), random.normal(), random.normal()])));
  const z = apply(rotationAbout(side, distance), pole);
  const a = unit(cross(z, side));
  const b = cross(z, a);
  const upright: Rotation = [a[0], b[0], z[0], a[1], b[1], z[1], a[2], b[2], z[2]];
  return compose(upright, rotationAbout([0, 0, 1], 2 * Math.PI * random.uniform()));
}

/** The brightest stars of the field, moved by their unknown proper motion. */
function starPlaces(
  cap: StarCap, pose: Rotation, lens: Lens, plan: FieldPlan, time: Date, random: Random,
): { x: number; y: number; magnitude: number; star: number }[] {
  const toCamera = inverse(pose);
  const years = (time.getTime() - Date.UTC(2000, 0, 1)) / (365.25 * 86_400_000);
  const radius = Math.min(1.3, 1.15 * Math.atan(Math.hypot(plan.width, plan.height) / 2 / lens.focalPixels) + 2 * plan.centreOff);
  const found: { x: number; y: number; magnitude: number; star: number }[] = [];
  for (let i = 0; i < cap.count && found.length < plan.depth; i++) {
    const d: Vector = [cap.directions[3 * i]!, cap.directions[3 * i + 1]!, cap.directions[3 * i + 2]!];
    if (!(d[0] * pose[2] + d[1] * pose[5] + d[2] * pose[8] > Math.cos(radius))) continue;
    const motion = properMotionScatter(cap.magnitudes[i]!) * years + 0.03 * ARCSECOND;
    const moved = unit(add(d, scale([random.normal(), random.normal(), random.normal()], motion)));
    const p = toPixel(lens, apply(toCamera, moved));
    if (!p || p.x < 0 || p.y < 0 || p.x > plan.width - 1 || p.y > plan.height - 1) continue;
    found.push({ x: p.x, y: p.y, magnitude: cap.magnitudes[i]!, star: cap.catalogue[i]! });
  }
  return found;
}

/** Largest distance in pixels, over a grid on the picture, between where two poses and lenses show the same direction. */
export function poseDifference(field: SimulatedField, width: number, height: number, pose: Rotation, lens: Lens): number {
  // Detections that are real stars tell it directly.
  let worst = 0;
  const toCamera = inverse(pose);
  const place = new Map<number, number>();
  for (let i = 0; i < field.cap.count; i++) place.set(field.cap.catalogue[i]!, i);
  field.detections.forEach((d, n) => {
    const star = field.truth[n]!;
    if (star < 0) return;
    const i = place.get(star)!;
    const [a, b, c] = field.cap.directions.subarray(3 * i, 3 * i + 3);
    const p = toPixel(lens, apply(toCamera, [a!, b!, c!]));
    worst = Math.max(worst, p ? Math.hypot(p.x - d.x, p.y - d.y) : Math.hypot(width, height));
  });
  return worst;
}
