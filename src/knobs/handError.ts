/**
 * One-sigma error, in turns, of where a knob ends that a hand meant to turn by `turns` in all: a nudge to a hundredth (3.6°), half a
 * turn or more to 0.03 (11°), since whole turns are counted and only the end is judged by eye. Assumed, not measured; where real turns
 * scatter more, the learned sigmas grow by it.
 */
export function handError(turns: number): number {
  return Math.min(0.03, 0.01 + 0.04 * Math.abs(turns));
}
