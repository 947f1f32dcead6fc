/** Memory for {@link poseFromPair}: the pose it makes (9 numbers, camera to sky), and what it needs on the way. */
export interface PairPose {
  readonly pose: Float64Array;
  readonly camera: Float64Array;
  readonly sky: Float64Array;
}

export function emptyPairPose(): PairPose {
  return { pose: new Float64Array(9), camera: new Float64Array(9), sky: new Float64Array(9) };
}

/**
 * Makes the pose that carries two camera directions to two directions on the sky: their middle exactly, the line between
 * them as to direction. Flat arrays; p, q, s and t are the places of the first of three numbers. False if a direction is
 * not known (zeros).
 *
 * @param rays of an unmirrored lens
 * @param ratio what that lens' focal length must be multiplied by
 */
export function poseFromPair(
  rays: Float64Array, p: number, q: number, ratio: number, mirrored: boolean,
  directions: Float64Array, s: number, t: number, out: PairPose,
): boolean {
  const { pose, camera, sky } = out;
  const m = mirrored ? -1 : 1;
  pairFrame(m * rays[p]!, rays[p + 1]!, rays[p + 2]! * ratio, m * rays[q]!, rays[q + 1]!, rays[q + 2]! * ratio, camera);
  pairFrame(directions[s]!, directions[s + 1]!, directions[s + 2]!, directions[t]!, directions[t + 1]!, directions[t + 2]!, sky);
  for (let r = 0; r < 3; r++) {
    for (let c = 0; c < 3; c++) {
      pose[3 * r + c] = sky[r]! * camera[c]! + sky[3 + r]! * camera[3 + c]! + sky[6 + r]! * camera[6 + c]!;
    }
  }
  return Number.isFinite(pose[0]!);
}

/** Three directions at right angles: the middle of two (of any length), from the one to the other, and their normal. */
function pairFrame(px: number, py: number, pz: number, qx: number, qy: number, qz: number, out: Float64Array): void {
  const p = 1 / Math.sqrt(px * px + py * py + pz * pz);
  const q = 1 / Math.sqrt(qx * qx + qy * qy + qz * qz);
  let ax = p * px + q * qx, ay = p * py + q * qy, az = p * pz + q * qz;
  let bx = q * qx - p * px, by = q * qy - p * py, bz = q * qz - p * pz;
  const a = 1 / Math.sqrt(ax * ax + ay * ay + az * az);
  const b = 1 / Math.sqrt(bx * bx + by * by + bz * bz);
  ax *= a; ay *= a; az *= a;
  bx *= b; by *= b; bz *= b;
  out[0] = ax; out[1] = ay; out[2] = az;
  out[3] = bx; out[4] = by; out[5] = bz;
  out[6] = ay * bz - az * by; out[7] = az * bx - ax * bz; out[8] = ax * by - ay * bx;
}
