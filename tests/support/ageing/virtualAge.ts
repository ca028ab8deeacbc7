/** A stretch of life at one condition: loss = factor · age^exponent, for `duration` in the unit of age (days, Ah, cycles). */
export interface AgeingSegment {
  readonly factor: number;
  readonly duration: number;
}

/**
 * Loss after a sequence of conditions that share one power of age. At each change the loss so far is read as the age at
 * which the new condition would have produced it (the virtual age), and counting goes on from there. Adding the powers
 * of the parts would count each part as if the cell were new, and overstates the loss where the exponent is below 1.
 *
 * @param segments factors ≥ 0 and durations ≥ 0
 * @param exponent of age, above 0
 * @param startLoss loss before the first segment; default 0
 * @returns the loss after each segment
 * @throws RangeError naming the segment
 */
export function lossByVirtualAge(
  segments: readonly AgeingSegment[],
  exponent: number,
  startLoss = 0,
): number[] {
  if (!(exponent > 0)) throw new RangeError(`exponent must be positive, got ${exponent}`);
  if (!(startLoss >= 0)) throw new RangeError(`startLoss must not be negative, got ${startLoss}`);
  let loss = startLoss;
  return segments.map(({ factor, duration }, i) => {
    if (!(factor >= 0)) throw new RangeError(`segments[${i}].factor must not be negative, got ${factor}`);
    if (!(duration >= 0))
      throw new RangeError(`segments[${i}].duration must not be negative, got ${duration}`);
    if (factor > 0) loss = factor * ((loss / factor) ** (1 / exponent) + duration) ** exponent;
    return loss;
  });
}
