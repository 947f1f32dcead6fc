/**
 * One-sigma error, in turns, of where a hand ends that meant to turn a knob by `turns` in all: a hundredth (3.6°) for a nudge, 0.03 (11°)
 * for half a turn or more, since whole turns are counted and only the end is judged by eye. Assumed, not measured; where real turns scatter
 * more, the learned sigmas grow by it.
 */
export function handError(turns: number): number {
  return Math.min(0.03, 0.01 + 0.04 * Math.abs(turns));
}
