/** Disturbances by light and sensor that only the study needs; the others are in src/simulate. */
import type { Effect } from '../../src/simulate/hardSky.js';

/** Lights of an aircraft: two steady lines, and flashes along the middle; elsewhere in each frame. Electrons at the crest of a line. */
export function aircraftTrail(electrons: number, gapPixels: number): Effect {
  return ({ width, height, data }, _frame, random) => {
    const direction = 2 * Math.PI * random.uniform();
    const [c, s] = [Math.cos(direction), Math.sin(direction)];
    const [x0, y0] = [width * (0.2 + 0.6 * random.uniform()), height * (0.2 + 0.6 * random.uniform())];
    const every = 60 + 80 * random.uniform();
    const gauss = (distance: number, sigma: number): number => Math.exp(-0.5 * (distance / sigma) ** 2);
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        const across = (x - x0) * s - (y - y0) * c;
        if (Math.abs(across) > gapPixels + 20) continue;
        const along = (x - x0) * c + (y - y0) * s;
        const fromFlash = along - every * Math.round(along / every);
        data[y * width + x]! += electrons * (gauss(across - gapPixels / 2, 1.5) + gauss(across + gapPixels / 2, 1.5)
          + 20 * gauss(across, 2.5) * gauss(fromFlash, 2.5));
      }
    }
  };
}

/** Columns that show nothing, or a third of them full: the same in each frame. */
export function deadColumns(columns: readonly number[], full: number): Effect {
  return ({ width, height, data }) => {
    columns.forEach((x, i) => {
      for (let y = 0; y < height; y++) data[y * width + x] = i % 3 === 2 ? full : 0;
    });
  };
}

/**
 * Each point becomes a ring of light evenly filled between both radii (pixels): a telescope out of focus, `inner` 0 without obstruction.
 */
export function defocus(outer: number, inner: number): Effect {
  const taps: { dx: number; dy: number; weight: number }[] = [];
  const fine = 5;
  const reach = Math.ceil(outer);
  let sum = 0;
  for (let dy = -reach; dy <= reach; dy++) {
    for (let dx = -reach; dx <= reach; dx++) {
      let weight = 0;
      for (let j = 0; j < fine; j++) {
        for (let i = 0; i < fine; i++) {
          const r = Math.hypot(dx + (i + 0.5) / fine - 0.5, dy + (j + 0.5) / fine - 0.5);
          if (r <= outer && r >= inner) weight++;
        }
      }
      if (weight > 0) taps.push({ dx, dy, weight });
      sum += weight;
    }
  }
  return ({ width, height, data }) => {
    const sharp = data.slice();
    data.fill(0);
    for (const { dx, dy, weight } of taps) {
      const share = weight / sum;
      for (let y = Math.max(0, dy); y < Math.min(height, height + dy); y++) {
        const to = y * width, from = (y - dy) * width - dx;
        for (let x = Math.max(0, dx); x < Math.min(width, width + dx); x++) data[to + x]! += share * sharp[from + x]!;
      }
    }
  };
}

/** Dew: a share of all starlight is spread about each star, three box filters deep. */
export function dewHalos(share: number, radiusPixels: number): Effect {
  return ({ width, height, data }) => {
    const wide = Float64Array.from(data);
    for (let pass = 0; pass < 3; pass++) {
      for (let y = 0; y < height; y++) boxBlur(wide, y * width, 1, width, radiusPixels);
      for (let x = 0; x < width; x++) boxBlur(wide, x, width, height, radiusPixels);
    }
    for (let i = 0; i < data.length; i++) data[i] = (1 - share) * data[i]! + share * wide[i]!;
  };
}

/** Running mean over 2·radius + 1 entries; outside is dark. */
function boxBlur(data: Float64Array, start: number, step: number, count: number, radius: number): void {
  const line = new Float64Array(count);
  for (let i = 0; i < count; i++) line[i] = data[start + i * step]!;
  let sum = 0;
  for (let i = 0; i < Math.min(radius, count); i++) sum += line[i]!;
  for (let i = 0; i < count; i++) {
    if (i + radius < count) sum += line[i + radius]!;
    if (i - radius - 1 >= 0) sum -= line[i - radius - 1]!;
    data[start + i * step] = sum / (2 * radius + 1);
  }
}

/** Glow of the sensor's electronics: exponential from a corner and along an edge. */
export function ampGlow(electrons: number, lengthPixels: number): Effect {
  return ({ width, height, data }) => {
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        const corner = Math.hypot(width - x, y);
        data[y * width + x]! += electrons * (Math.exp(-corner / lengthPixels) + 0.2 * Math.exp(-(width - x) / (0.3 * lengthPixels)));
      }
    }
  };
}

/**
 * A lamp just above the last row: a burnt-out core, a halo that falls as the square, spikes along rows and columns, a ghost across the
 * middle.
 */
export function horizonLamp(electrons: number, x0: number, y0: number): Effect {
  return ({ width, height, data }) => {
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        const [dx, dy] = [x - x0, y - y0];
        const r2 = dx * dx + dy * dy;
        const spike = Math.exp(-Math.min(Math.abs(dx), Math.abs(dy)) / 2) / (1 + Math.sqrt(r2) / 5);
        const ghost = Math.hypot(x - (width - 1 - x0), y - (height - 1 - y0)) < 25 ? 1e-4 : 0;
        data[y * width + x]! += electrons * (1 / (1 + r2 / 16) + 0.02 * spike + ghost);
      }
    }
  };
}

/**
 * Coma: each point becomes a tail away from the middle of the frame, `pixels` long in the corner and growing with the distance from the
 * middle; the light thins out along it and the tail fans out by a third of its length (a cone of 60° as third-order coma has is a circle
 * at each step: here five steps of rings of eight).
 */
export function coma(pixels: number): Effect {
  const steps = 5, around = 8;
  return ({ width, height, data }) => {
    const sharp = data.slice();
    data.fill(0);
    const [cx, cy] = [(width - 1) / 2, (height - 1) / 2];
    const corner = Math.hypot(cx, cy);
    const most = width - 1.001, least = height - 1.001;
    // Third-order coma: light through the zone s of the pupil lies on a circle of radius R·s² about 2·R·s² outward; zones weigh by s.
    const taps = Array.from({ length: steps }, (_, k) => {
      const s = (k + 0.5) / steps;
      return Array.from({ length: around }, (_u, a) => ({
        along: s * s * (2 + Math.cos((2 * Math.PI * a) / around)) / 3, across: (s * s * Math.sin((2 * Math.PI * a) / around)) / 3,
        weight: s,
      }));
    }).flat();
    const sum = taps.reduce((total, t) => total + t.weight, 0);
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        const light = sharp[y * width + x]!;
        if (light < 1e-3) continue;
        const r = Math.hypot(x - cx, y - cy);
        const ux = r > 0 ? (x - cx) / r : 1, uy = r > 0 ? (y - cy) / r : 0;
        const length = (pixels * r) / corner;
        for (const { along, across, weight } of taps) {
          const px = x + length * (along * ux - across * uy), py = y + length * (along * uy + across * ux);
          if (!(px >= 0 && py >= 0 && px < most && py < least)) continue;
          const x0 = Math.floor(px), y0 = Math.floor(py);
          const fx = px - x0, fy = py - y0;
          const part = (light * weight) / sum;
          const at = y0 * width + x0;
          data[at]! += part * (1 - fx) * (1 - fy);
          data[at + 1]! += part * fx * (1 - fy);
          data[at + width]! += part * (1 - fx) * fy;
          data[at + width + 1]! += part * fx * fy;
        }
      }
    }
  };
}
