const sampleLimit = 20_000;

/**
 * The step in which a column of readings moves (its quantisation), or 0 where no step is visible.
 *
 * The smallest differences between neighbouring rows propose a step; it is taken when at least four fifths of
 * all non-zero differences are whole multiples of it (to 15 % of a step, because readings are often rounded
 * once more in print) and the step repeats.
 */
export function columnResolution(values: Float64Array): number {
  const differences: number[] = [];
  const stride = Math.max(1, Math.floor(values.length / sampleLimit));
  for (let i = 1; i < values.length; i += stride) {
    const difference = Math.abs(values[i] - values[i - 1]);
    if (difference > 1e-12) differences.push(difference);
  }
  if (differences.length < 8) return 0;
  differences.sort((a, b) => a - b);
  const step = differences[Math.floor(differences.length * 0.02)];
  let multiples = 0;
  let small = 0;
  for (const difference of differences) {
    const ratio = difference / step;
    if (ratio > 6) continue;
    small++;
    if (Math.abs(ratio - Math.round(ratio)) <= 0.15 && ratio > 0.8) multiples++;
  }
  return small >= 8 && multiples >= 0.8 * small ? step : 0;
}
