/**
 * Trail that a round star image tolerates, pixels. A critically sampled image has a full width at half maximum of two pixels or more (two
 * to three is common practice; the sampling theorem requires two). A trail of L pixels adds L²/12 to its variance along the trail: one
 * pixel makes a width of 2 px longer by 5.6 %, one of 3 px by 2.5 %. The eye notices an elongation of a tenth (common practice), which is
 * {@link elongation} of 1.36 px for a width of 2 px: one pixel leaves room for air and gear.
 */
export const USUAL_LIMIT_PIXELS = 1;

/**
 * Length over width of a Gaussian star image smeared evenly along a straight trail, by second moments.
 * @param fwhmPixels full width at half maximum of the round image, above 0
 */
export function elongation(trailPixels: number, fwhmPixels: number): number {
  const sigma = fwhmPixels / Math.sqrt(8 * Math.LN2);
  return Math.sqrt(1 + (trailPixels * trailPixels) / (12 * sigma * sigma));
}
