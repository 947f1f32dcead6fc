import type { FrameMetadata, Sourced } from '../../frames/frame.js';
import type { Pointing } from '../../frames/fitsPointing.js';
import { DEGREE } from '../../geometry/angle.js';
import { type Vector, fromSpherical } from '../../geometry/vector.js';
import type { Hemisphere } from '../../sky/localSky.js';

/** Where a person says that frames look: ICRS, or the pole over the site. */
export type Near = 'pole' | { readonly raDeg: number; readonly decDeg: number };

interface Pointed {
  readonly width: number;
  readonly height: number;
  readonly metadata: Pick<FrameMetadata, 'pointing'>;
}

/** ICRS direction near which a frame looks, by the person or its header; null where neither gives it. */
export function placeHint(near: Sourced<Near> | null | undefined, frame: Pointed, hemisphere: Hemisphere): Vector | null {
  if (near) return near.value === 'pole' ? [0, 0, hemisphere] : fromSpherical(near.value.raDeg * DEGREE, near.value.decDeg * DEGREE);
  const { pointing } = frame.metadata;
  return pointing ? pointedAt(pointing, frame) : null;
}

/** ICRS direction of the picture's middle by the header. */
export function pointedAt(
  { raDeg, decDeg, world }: Pointing, { width, height }: { readonly width: number; readonly height: number },
): Vector {
  const ra = raDeg * DEGREE, dec = decDeg * DEGREE;
  const reference = fromSpherical(ra, dec);
  if (!world) return reference;
  const x = (width - 1) / 2 - world.x, y = (height - 1) / 2 - world.y;
  const xi = (world.matrix[0] * x + world.matrix[1] * y) * DEGREE, eta = (world.matrix[2] * x + world.matrix[3] * y) * DEGREE;
  const v: Vector = [
    reference[0] - xi * Math.sin(ra) - eta * Math.sin(dec) * Math.cos(ra),
    reference[1] + xi * Math.cos(ra) - eta * Math.sin(dec) * Math.sin(ra),
    reference[2] + eta * Math.cos(dec),
  ];
  const length = Math.hypot(...v);
  return [v[0] / length, v[1] / length, v[2] / length];
}
