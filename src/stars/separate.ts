import { fitStar, makeFitWorkspace } from './fitStar.js';
import { widthSpread } from './measureCandidates.js';
import type { Measured } from './measureCandidates.js';
import { subtractNeighbour } from './neighbours.js';
import type { Picture } from './picture.js';
import { axesOf, fwhmPerSigma } from './shape.js';
import { cutStamp, makeStamp } from './stamp.js';
import type { FrameModel } from './starModel.js';

/** Fits stars that are close together again, each with the others' light subtracted. */
export function separate(image: Picture, stars: Measured[], model: FrameModel, ceiling: number): void {
  const stamp = makeStamp();
  const workspace = makeFitWorkspace();
  const fwhm = fwhmPerSigma * Math.sqrt(axesOf(model.star.shape).long);
  const near = neighboursOf(stars, (p) => p.reach + 2.5 * fwhm);
  for (let round = 0; round < 2; round++) {
    stars.forEach((star, k) => {
      const others = near[k]!;
      if (others.length === 0 || star.saturated) return;
      const { fit } = star;
      cutStamp(image, fit.x, fit.y, Math.ceil(star.reach), star.sky, star.slope, ceiling, stamp);
      for (const other of others) subtractNeighbour(stamp, model.star, stars[other]!.fit, workspace);
      const again = { ...fit };
      const bounds = { reach: star.reach, widthSpread, skySpread: 0.3 * star.noise };
      fitStar(stamp, model.star, { sky: star.noise, perLight: model.perLight }, again, bounds, workspace);
      if (again.settled && Math.hypot(again.x - fit.x, again.y - fit.y) < fwhm) Object.assign(fit, again);
    });
  }
  stars.forEach((star, k) => {
    for (const other of near[k]!) {
      const { fit } = stars[other]!;
      const distance = Math.hypot(fit.x - star.fit.x, fit.y - star.fit.y);
      if (distance < 2 * fwhm && fit.peak > 0.05 * star.fit.peak) star.company = true;
    }
  });
}

/** Indices of the stars within the larger of two stars' reaches of each star, found by sorting along y. */
function neighboursOf(stars: readonly Measured[], reachOf: (star: Measured) => number): number[][] {
  const order = Int32Array.from(stars.keys()).sort((p, q) => stars[p]!.fit.y - stars[q]!.fit.y);
  const x = new Float64Array(stars.length), y = new Float64Array(stars.length), reach = new Float64Array(stars.length);
  order.forEach((index, i) => {
    const star = stars[index]!;
    x[i] = star.fit.x;
    y[i] = star.fit.y;
    reach[i] = reachOf(star);
  });
  const near: number[][] = stars.map(() => []);
  for (let i = 0; i < order.length; i++) {
    const until = y[i]! + 3 * reach[i]! + 60;
    for (let j = i + 1; j < order.length && y[j]! <= until; j++) {
      const dx = x[j]! - x[i]!, dy = y[j]! - y[i]!;
      const farther = Math.max(reach[i]!, reach[j]!);
      if (dx * dx + dy * dy > farther * farther) continue;
      near[order[i]!]!.push(order[j]!);
      near[order[j]!]!.push(order[i]!);
    }
  }
  return near;
}
