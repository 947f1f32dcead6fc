/**
 * One-sigma error of a hand that means to turn a knob by `turns`: a hundredth of a turn (3.6°) to set it anywhere, and 4 % of the
 * way. Assumed, not measured; where real turns scatter more, the learned sigmas grow by it.
 */
export function handError(turns: number): number {
  return 0.01 + 0.04 * Math.abs(turns);
}
