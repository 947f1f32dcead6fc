/** Two kinds of rough frames that were once not recognised, as nights of two frames; all values are invented within what people meet. */
import { type NightPlan, skylight, starlight } from '../../src/simulate/nightPlan.js';
import { makeRandom } from '../../src/simulate/random.js';
import type { HardNight } from '../accuracy/hardKinds.js';
import { studyNight } from '../accuracy/nights.js';

type Between = (a: number, b: number) => number;

const CHANGES: Readonly<Record<string, (plan: NightPlan, between: Between) => Partial<NightPlan>>> = {
  'out of focus, a thousand hot pixels': (plan, between) => ({
    fwhmPixels: between(4, 8), moffatBeta: between(3, 8), uncataloguedDensity: 0.5, hotPixelsPerMillion: 1e9 / (plan.width * plan.height),
  }),
  // 0.8° across, a sway of a third of a pixel, stars of which the catalogue has a tenth.
  'telescope of 1400 mm': (_, between) => {
    const camera = { focalLengthMillimetres: 1400, pixelSizeMicrometres: 14, exposureSeconds: between(4, 15) };
    const electronsAtMagnitude0 = starlight(between(180, 250));
    return {
      ...camera, width: 1400, height: 1050, electronsAtMagnitude0, tracking: true, pointingOffsetDeg: between(0, 1), distortion: [],
      skyElectrons: skylight(between(19, 21), electronsAtMagnitude0, camera.exposureSeconds, 206.265 * 14 / 1400),
      fwhmPixels: between(1.5, 3), wanderPixels: between(0.25, 0.4), uncataloguedDensity: between(0.5, 1),
    };
  },
};

export const ROUGH_KINDS: readonly string[] = Object.keys(CHANGES);

/** Night n of a kind, saved as FITS; guide scopes and lenses by turns. */
export function roughNight(kind: string, n: number): HardNight {
  const number = 700_000 + ROUGH_KINDS.indexOf(kind) * 10_000 + n;
  const random = makeRandom(`rough ${number}`);
  const between: Between = (a, b) => a + (b - a) * random.uniform();
  const study = studyNight(number, { optics: n % 3 === 2 ? 'lens' : 'guide scope', frames: 2, totalTurnDeg: between(25, 90) });
  return { kind, study: { ...study, plan: { ...study.plan, ...CHANGES[kind]!(study.plan, between) } }, stored: 'fits' };
}
