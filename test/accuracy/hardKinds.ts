/** The hard skies of the study, each a change to an ordinary invented night; all values are invented within what people meet. */
import { type NightPlan, skylight } from '../../src/simulate/nightPlan.js';
import { cloud } from '../../src/simulate/cloud.js';
import type { Effect } from '../../src/simulate/hardSky.js';
import { moonlight } from '../../src/simulate/moonlight.js';
import { type Random, makeRandom } from '../../src/simulate/random.js';
import { satelliteTrail } from '../../src/simulate/satelliteTrail.js';
import { treeLine } from '../../src/simulate/treeLine.js';
import { aircraftTrail, ampGlow, deadColumns, defocus, dewHalos, horizonLamp } from './hardEffects.js';
import { type StudyNight, studyNight } from './nights.js';
import type { Stored } from './storePicture.js';

export interface HardNight {
  readonly kind: string;
  readonly study: StudyNight;
  /** How the frames are saved. */
  readonly stored: Stored;
}

interface Chance {
  readonly random: Random;
  between(a: number, b: number): number;
  /** Sky and its noise, electrons. */
  readonly sky: number;
  readonly noise: number;
}

type Change = (plan: NightPlan, chance: Chance) => Partial<NightPlan>;

const light = (...effects: Effect[]): Partial<NightPlan> => ({ hardSky: { light: effects } });
const starlight = (...effects: Effect[]): Partial<NightPlan> => ({ hardSky: { starlight: effects } });

/** A longer exposure gathers more of everything. */
function exposed(plan: NightPlan, exposureSeconds: number): Partial<NightPlan> {
  return {
    exposureSeconds, intervalSeconds: exposureSeconds + 20,
    skyElectrons: (plan.skyElectrons * exposureSeconds) / plan.exposureSeconds,
  };
}

const CHANGES: Readonly<Record<string, Change>> = {
  'cloud over half the frame': (p, c) => starlight(cloud(0.5, c.between(2, 5), p.width / c.between(3, 9))),
  'tree line': (_, c) => light(treeLine(c.between(0.15, 0.5), c.between(5, 25), c.between(0.02, 0.3), c.between(0, 100))),
  'satellite trails': (p, c) => light(...Array.from({ length: 1 + Math.floor(c.between(0, 4)) }, () =>
    satelliteTrail(c.between(2, 60) * c.noise, p.fwhmPixels * c.between(1, 2)))),
  'aircraft trail': (_, c) => light(aircraftTrail(c.between(20, 300) * c.noise, c.between(4, 40))),
  'moon gradient': (_, c) => light(moonlight(c.between(5, 40) * c.sky, c.between(0, 360))),
  'city sky': (p, c) => ({
    skyElectrons: skylight(
      c.between(16, 17.5), p.electronsAtMagnitude0, p.exposureSeconds, (206.265 * p.pixelSizeMicrometres) / p.focalLengthMillimetres,
    ),
  }),
  'thousands of hot pixels': (_, c) => ({ hotPixelsPerMillion: c.between(3000, 15_000) }),
  'dead columns': (p, c) =>
    light(deadColumns(Array.from({ length: Math.floor(c.between(10, 60)) }, () => Math.floor(c.between(0, p.width))), p.fullWell)),
  'defocus, FWHM 5 to 10 px': (_, c) => ({ fwhmPixels: c.between(5, 10), moffatBeta: c.between(3, 8) }),
  'defocus, discs and rings to 10 px': (_, c) => {
    const outer = c.between(2.5, 5);
    return starlight(defocus(outer, c.random.uniform() < 0.5 ? 0 : outer * c.between(0.2, 0.5)));
  },
  'trailing, untracked 1 to 4 min': (p, c) => ({ ...exposed(p, c.between(60, 240)), tracking: false }),
  'undersampled, FWHM 0.7 to 1.2 px': (_, c) => ({ fwhmPixels: c.between(0.7, 1.2), elongation: 1 }),
  'saturated bright stars': (p, c) => ({ electronsAtMagnitude0: p.electronsAtMagnitude0 * 10, fullWell: c.between(2000, 15_000) }),
  'dew halos': (_, c) => starlight(dewHalos(c.between(0.3, 0.85), Math.round(c.between(5, 25)))),
  'vignetting': (_, c) => ({ vignetting: c.between(0.6, 0.97) }),
  'amp glow': (p, c) => light(ampGlow(c.between(0.1, 1) * p.fullWell, c.between(50, 300))),
  'JPEG, quality 60': () => ({}),
  'stretched, 8 bits': () => ({}),
  'stretched, 16 bits': () => ({}),
  'horizon lamp': (p, c) => light(horizonLamp(c.between(5, 200) * p.fullWell, c.between(0, p.width), p.height * c.between(0.9, 1.02))),
};

export const HARD_KINDS: readonly string[] = Object.keys(CHANGES);

const STORED: Readonly<Record<string, readonly Stored[]>> = {
  'JPEG, quality 60': ['jpeg'],
  'stretched, 8 bits': ['asinh 8', 'gamma 8'],
  'stretched, 16 bits': ['asinh 16', 'gamma 16'],
};

/** Night n of a kind: three frames, guide scopes and lenses by turns. */
export function hardNight(kind: string, n: number): HardNight {
  const number = 500_000 + HARD_KINDS.indexOf(kind) * 1000 + n;
  const random = makeRandom(`hard ${number}`);
  const between = (a: number, b: number): number => a + (b - a) * random.uniform();
  const study = studyNight(number, { optics: n % 3 === 2 ? 'lens' : 'guide scope', frames: 3, totalTurnDeg: between(40, 90) });
  const base: NightPlan = { ...study.plan, uncataloguedDensity: 0.2 };
  const sky = base.skyElectrons;
  const change = CHANGES[kind]!(base, { random, between, sky, noise: Math.sqrt(sky + base.readNoise ** 2) });
  const ways = STORED[kind] ?? ['fits'];
  return { kind, study: { ...study, plan: { ...base, ...change } }, stored: ways[n % ways.length]! };
}
