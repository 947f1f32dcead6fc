/** How the light of a star spreads: a Moffat profile 1/π·(β-1)·√det·(1 + q)^-β with q = a·dx² + b·dx·dy + c·dy². */
export interface StarProfile {
  readonly beta: number;
  readonly a: number;
  readonly b: number;
  readonly c: number;
  /** Density at the middle for one electron, per square pixel. */
  readonly peak: number;
  /** (1 + q)^-β at q = i / steps. */
  readonly table: Float64Array;
  readonly steps: number;
  /** Length of the short axis: half width at q = 1, pixels. */
  readonly shortAxis: number;
  readonly longAxis: number;
}

/** The table ends here, or where the profile has fallen to 1e-9 of its peak. */
const TABLE_TO = 64;

/**
 * @param fwhm mean (geometric) of the full widths at half maximum along both axes, pixels
 * @param beta above 1
 * @param elongation long axis over short axis, at least 1
 * @param direction of the long axis, from x toward y, radians
 */
export function makeProfile(fwhm: number, beta: number, elongation = 1, direction = 0): StarProfile {
  const scale = fwhm / 2 / Math.sqrt(Math.pow(2, 1 / beta) - 1);
  const longAxis = scale * Math.sqrt(elongation);
  const shortAxis = scale / Math.sqrt(elongation);
  const c = Math.cos(direction);
  const s = Math.sin(direction);
  const l = 1 / (longAxis * longAxis);
  const k = 1 / (shortAxis * shortAxis);
  // So that linear interpolation between entries is right to 1e-5 near the peak.
  const steps = Math.ceil(100 * beta);
  const table = new Float64Array(Math.ceil(steps * Math.min(TABLE_TO, Math.pow(1e9, 1 / beta) - 1)) + 2);
  for (let i = 0; i < table.length; i++) table[i] = Math.pow(1 + i / steps, -beta);
  return {
    beta,
    a: l * c * c + k * s * s,
    b: 2 * (l - k) * c * s,
    c: l * s * s + k * c * c,
    peak: (beta - 1) / (Math.PI * longAxis * shortAxis),
    table,
    steps,
    shortAxis,
    longAxis,
  };
}

/** (1 + q)^-β */
function fall(profile: StarProfile, q: number): number {
  const at = q * profile.steps;
  const i = at | 0;
  if (i + 1 >= profile.table.length) return Math.pow(1 + q, -profile.beta);
  const low = profile.table[i]!;
  return low + (at - i) * (profile.table[i + 1]! - low);
}

/** Gauss-Legendre nodes on -1/2 to 1/2 and weights, for 1 to 4 points. */
const NODES = [
  [0],
  [-0.28867513459481287, 0.28867513459481287],
  [-0.3872983346207417, 0, 0.3872983346207417],
  [-0.4305681557970263, -0.16999052179242813, 0.16999052179242813, 0.4305681557970263],
];
const WEIGHTS = [
  [1],
  [0.5, 0.5],
  [5 / 18, 8 / 18, 5 / 18],
  [0.17392742256872692, 0.32607257743127305, 0.32607257743127305, 0.17392742256872692],
];

/**
 * Adds a star of `electrons` at (x, y) to a picture. Each pixel takes the integral of the profile over its square, by Gauss-Legendre
 * quadrature, finer near the middle. Light of less than `faintest` electrons in a pixel is left out.
 */
export function paintStar(
  data: Float32Array, width: number, height: number, profile: StarProfile,
  x: number, y: number, electrons: number, faintest: number,
): void {
  const peak = profile.peak * electrons;
  const edge = peak > faintest ? Math.pow(peak / faintest, 1 / profile.beta) - 1 : 0;
  const reach = Math.max(1.5, profile.longAxis * Math.sqrt(edge));
  const x0 = Math.max(0, Math.ceil(x - reach));
  const x1 = Math.min(width - 1, Math.floor(x + reach));
  const y0 = Math.max(0, Math.ceil(y - reach));
  const y1 = Math.min(height - 1, Math.floor(y + reach));
  // Four points over a pixel integrate a profile of FWHM 1.2 to 1e-4 of its light; far out one does, and two do for a star
  // whose peak is so low that their error, a thousandth of it, is less than the faintest light that counts.
  const fine = peak < 300 * faintest ? 2 : profile.shortAxis < 1.2 ? 4 : 3;
  const { a, b, c } = profile;
  for (let py = y0; py <= y1; py++) {
    const dy = py - y;
    const row = py * width;
    for (let px = x0; px <= x1; px++) {
      const dx = px - x;
      const q = a * dx * dx + b * dx * dy + c * dy * dy;
      const points = q < 6 ? fine : q < 40 ? 2 : 1;
      let sum: number;
      if (points === 1) {
        sum = fall(profile, q);
      } else {
        const nodes = NODES[points - 1]!;
        const weights = WEIGHTS[points - 1]!;
        sum = 0;
        for (let j = 0; j < points; j++) {
          const v = dy + nodes[j]!;
          const cv = c * v * v;
          let line = 0;
          for (let i = 0; i < points; i++) {
            const u = dx + nodes[i]!;
            line += weights[i]! * fall(profile, a * u * u + b * u * v + cv);
          }
          sum += weights[j]! * line;
        }
      }
      data[row + px]! += peak * sum;
    }
  }
}
