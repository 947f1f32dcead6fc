/** What the mount carries compared with its rating. */
export interface PayloadCheck {
  readonly payloadKilograms: number;
  readonly capacityKilograms: number;
  /** Payload over capacity. */
  readonly share: number;
  /** `within`: up to half of the rating, common practice for long exposures; `over-half`; `over-rating`. */
  readonly verdict: 'within' | 'over-half' | 'over-rating';
}

/** Common practice: for long exposures half of what the maker rates the mount for, counterweights not counted on either side. */
const HALF = 0.5;

/** @param payloadKilograms telescope, camera and all else on the mount but its counterweights; both above 0 */
export function checkPayload(payloadKilograms: number, capacityKilograms: number): PayloadCheck {
  const share = payloadKilograms / capacityKilograms;
  return { payloadKilograms, capacityKilograms, share, verdict: share > 1 ? 'over-rating' : share > HALF ? 'over-half' : 'within' };
}
