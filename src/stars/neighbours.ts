import { type StarFit, pixelRule } from './fitRound.js';
import type { FitWorkspace } from './fitStar.js';
import type { StarModel } from './profile.js';
import type { Stamp } from './stamp.js';

/** Takes a fitted star's light out of another's stamp. */
export function subtractNeighbour(stamp: Stamp, model: StarModel, star: StarFit, work: FitWorkspace): void {
  if (work.kind === 'whole') {
    work.subtract(stamp, model, star);
    return;
  }
  const { shape, profile } = model;
  const scale = Math.exp(-2 * star.logWidth) / (shape.xx * shape.yy - shape.xy * shape.xy);
  const rule = pixelRule(shape);
  const profileAt = (dx: number, dy: number): number => {
    const q = (shape.yy * dx * dx - 2 * shape.xy * dx * dy + shape.xx * dy * dy) * scale;
    return Math.pow(1 + profile.c * q, -profile.beta);
  };
  for (let v = 0; v < stamp.rows; v++) {
    const dy = stamp.top + v - star.y;
    for (let u = 0; u < stamp.columns; u++) {
      const dx = stamp.left + u - star.x;
      let p = 0;
      for (let j = 0; j < rule.at.length; j++) {
        for (let i = 0; i < rule.at.length; i++) p += rule.share[i]! * rule.share[j]! * profileAt(dx + rule.at[i]!, dy + rule.at[j]!);
      }
      const k = v * stamp.columns + u;
      stamp.values[k] = stamp.values[k]! - star.peak * p;
    }
  }
}
