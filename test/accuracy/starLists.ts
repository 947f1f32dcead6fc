/** The frames of a night as lists of recognised stars, without pixels: thousands of nights in minutes, to try estimators on. */
import type { AxisFrame } from '../../src/axis/estimateMount.js';
import { axisWithError } from '../../src/axis/axisError.js';
import { ARCMINUTE } from '../../src/geometry/angle.js';
import type { Vector } from '../../src/geometry/vector.js';
import { fitPose } from '../../src/identify/fitPose.js';
import type { IdentifiedStar } from '../../src/identify/identifyFrame.js';
import { type CapStars, hemisphereStars, starCap } from '../../src/identify/starCap.js';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import { frameTruth, planLens, planNight } from '../../src/simulate/night.js';
import { makeRandom } from '../../src/simulate/random.js';
import type { Hemisphere } from '../../src/sky/localSky.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import type { RoughNight } from './roughNights.js';

const halves = new Map<Hemisphere, CapStars>();

export interface StarListNight {
  readonly frames: readonly AxisFrame[];
  /** Local direction of the true axis, and of the refracted pole that the stars went through. */
  readonly axis: Vector;
  readonly refractedPole: Vector;
}

/** Signal to noise of the faintest star that is found; the brightest saturate. */
const FAINTEST = 10;

export function starLists({ plan, saidSite }: RoughNight, frameSwayArcsec = 0): StarListNight {
  const hemisphere: Hemisphere = plan.site.latitude > 0 ? 1 : -1;
  let half = halves.get(hemisphere);
  if (!half) halves.set(hemisphere, (half = hemisphereStars(embeddedCatalogue(), hemisphere)));
  const night = planNight({ ...plan, uncataloguedDensity: 0 }, embeddedCatalogue());
  const random = makeRandom(plan.seed).stream('star lists');
  const { focalPixels } = planLens(plan);
  let midUtc: Date | null = null;
  const frames = plan.rotationsDeg.map((_, frame): AxisFrame => {
    const truth = frameTruth(night, frame);
    midUtc ??= truth.midUtc;
    const sky = makeLocalSky(truth.midUtc, saidSite);
    const cap = starCap(half, sky);
    cap.reveal(Math.PI);
    const numbers = new Map<number, number>();
    cap.catalogue.forEach((catalogue, star) => numbers.set(catalogue, star));
    const sway = (frameSwayArcsec / 206265) * focalPixels;
    const [sx, sy] = [sway * random.normal(), sway * random.normal()];
    const stars: IdentifiedStar[] = [];
    const { x, y, electrons, catalogueIndex, count } = truth.stars;
    for (let s = 0; s < count; s++) {
      const star = catalogueIndex[s]! < 0 ? undefined : numbers.get(catalogueIndex[s]!);
      if (star === undefined || cap.directions[3 * star + 2] === 0) continue;
      const pixels = 4 * Math.PI * (plan.fwhmPixels / 2.355) ** 2;
      const signal = electrons[s]! / Math.sqrt(electrons[s]! + pixels * (plan.skyElectrons + plan.readNoise ** 2));
      if (signal < FAINTEST) continue;
      const sigma = Math.hypot((1.2 * plan.fwhmPixels) / 2.355 / signal, 0.005);
      const off = (): number => sigma * random.normal() + plan.wanderPixels * random.normal();
      stars.push({
        catalogue: catalogueIndex[s]!, magnitude: cap.magnitudes[star]!, catalogueSigma: cap.sigma(star),
        direction: [cap.directions[3 * star]!, cap.directions[3 * star + 1]!, cap.directions[3 * star + 2]!],
        detection: {
          x: x[s]! + off() + sx, y: y[s]! + off() + sy, sigma, flux: electrons[s]!, signalToNoise: signal, fwhm: plan.fwhmPixels,
          elongation: 1, saturated: false, blended: false,
        },
      });
    }
    // As many as the identification takes.
    stars.sort((a, b) => b.detection.flux - a.detection.flux).splice(500);
    const { radial, mirrored } = planLens(plan);
    const start = { focalPixels, radial, mirrored, centreX: (plan.width - 1) / 2, centreY: (plan.height - 1) / 2 };
    const fit = fitPose({
      count: stars.length, directions: Float64Array.from(stars.flatMap((d) => d.direction)),
      x: Float64Array.from(stars, (d) => d.detection.x), y: Float64Array.from(stars, (d) => d.detection.y),
      sigma: Float64Array.from(stars, (d) => Math.hypot(d.detection.sigma, d.catalogueSigma * focalPixels)),
    }, truth.pose, start, { focal: true, radialTerms: 1, robust: 3 });
    return {
      sky, width: plan.width, height: plan.height, exposureSeconds: plan.exposureSeconds,
      identification: { pose: fit?.pose ?? truth.pose, lens: fit?.lens ?? start, stars, residualPixels: 0, logOdds: 100 },
    };
  });
  const sky = makeLocalSky(midUtc!, saidSite);
  return {
    frames,
    axis: axisWithError(sky.truePole(hemisphere), plan.altitudeErrorArcmin * ARCMINUTE, plan.azimuthErrorArcmin * ARCMINUTE),
    refractedPole: makeLocalSky(midUtc!, plan.site).refractedPole(hemisphere),
  };
}
