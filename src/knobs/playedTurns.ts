/** What part of a series of turns reaches the axis through a play of `backlash` turns. */
export interface Played {
  /** Turns that move the axis, clockwise positive: expected value. */
  readonly turns: number;
  /** Variance from the unknown position in the play, turns². */
  readonly variance: number;
  /** Turns that the next clockwise turn loses before the axis moves, 0 to `backlash`; null while unknown. */
  readonly ahead: number | null;
}

/**
 * Play: the knob moves the axis only while it pushes against one end of a gap of `backlash` turns (the "play operator" of hysteresis
 * theory). `ahead` is how much of the gap a clockwise turn has before it; null where the knob may be anywhere in it: then all positions are
 * equally likely.
 */
export function playTurns(steps: readonly number[], backlash: number, ahead: number | null): Played {
  let gap = ahead;
  let turns = 0;
  let variance = 0;
  for (const step of steps) {
    if (step === 0) continue;
    const size = Math.abs(step);
    let lost: number;
    if (gap === null) {
      // A turn of at least the play loses between none and all of it; a shorter one loses min(gap, size).
      const most = Math.min(size, backlash);
      lost = backlash > 0 ? most - (most * most) / (2 * backlash) : 0;
      const second = backlash > 0 ? most * most - (2 * most ** 3) / (3 * backlash) : 0;
      variance += Math.max(0, second - lost * lost);
      if (size >= backlash) gap = step > 0 ? 0 : backlash;
    } else {
      const free = step > 0 ? gap : backlash - gap;
      lost = Math.min(size, free);
      gap += step > 0 ? -lost : lost;
    }
    turns += Math.sign(step) * (size - lost);
  }
  return { turns, variance, ahead: gap };
}
