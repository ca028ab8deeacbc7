/**
 * Charge throughput (in and out) in Ah at each cycle number, from the capacities measured on the way: 2 ∫ Q dn by the
 * trapezoid rule, the first capacity standing for the cycles before it. Cycles that are not full ones make this an upper
 * estimate; a counter of the instrument is better where there is one.
 *
 * @param cycles rising, ≥ 0
 * @param capacityAh same length; values that are not positive numbers are bridged
 * @returns NaN throughout where no capacity is known
 */
export function throughputAtCycles(cycles: Float64Array, capacityAh: Float64Array): Float64Array {
  if (cycles.length !== capacityAh.length) {
    throw new RangeError(
      `capacityAh holds ${capacityAh.length} values and cycles ${cycles.length}: they must be as many`,
    );
  }
  const throughput = new Float64Array(cycles.length).fill(Number.NaN);
  const known = Array.from(cycles.keys()).filter((i) => capacityAh[i] > 0 && capacityAh[i] < Infinity);
  if (known.length === 0) return throughput;
  let k = 0;
  let before = { cycle: 0, capacity: capacityAh[known[0]] };
  let sum = 0;
  for (let i = 0; i < cycles.length; i++) {
    while (k < known.length && known[k] < i) k++;
    const next = known[Math.min(k, known.length - 1)];
    const capacity = next === i ? capacityAh[i] : bridged(cycles, capacityAh, known, k, i);
    sum += (cycles[i] - before.cycle) * (before.capacity + capacity);
    throughput[i] = sum;
    before = { cycle: cycles[i], capacity };
  }
  return throughput;
}

function bridged(
  cycles: Float64Array,
  capacityAh: Float64Array,
  known: readonly number[],
  k: number,
  i: number,
): number {
  const later = known[k];
  const earlier = known[k - 1];
  if (earlier === undefined) return capacityAh[later];
  if (later === undefined) return capacityAh[earlier];
  const share = (cycles[i] - cycles[earlier]) / (cycles[later] - cycles[earlier]);
  return capacityAh[earlier] + share * (capacityAh[later] - capacityAh[earlier]);
}
