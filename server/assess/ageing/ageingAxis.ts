import { averageRepeats, throughputAtCycles } from '../../../fitting/ageing/index.ts';
import type { AgeingInput } from './ageingTracks.ts';

/**
 * Series over cycles as series over charge throughput or equivalent full cycles, worked out from the capacities measured
 * on the way (see `throughputAtCycles`).
 *
 * @param ratedCapacityAh needed for equivalent full cycles
 * @throws RangeError where the rated capacity or a cell's capacities are missing
 */
export function overThroughput(
  inputs: readonly AgeingInput[],
  axis: 'throughput-ah' | 'equivalent-full-cycles',
  ratedCapacityAh: number | null,
): AgeingInput[] {
  if (axis === 'equivalent-full-cycles' && ratedCapacityAh === null) {
    throw new RangeError(
      'Equivalent full cycles need the rated capacity; state it, e.g. with --rated-capacity 2.5',
    );
  }
  const divide = axis === 'throughput-ah' ? 1 : 2 * (ratedCapacityAh ?? 1);
  return inputs.map((input) => {
    if (input.capacityAh === null) {
      throw new RangeError(`Cell ${input.cell} has no capacities to work out its throughput from`);
    }
    const { x, y } = averageRepeats(input.x, input.capacityAh);
    const throughput = throughputAtCycles(x, y);
    const at = new Map(Array.from(x, (cycle, i) => [cycle, throughput[i] / divide]));
    return { ...input, x: input.x.map((cycle) => at.get(cycle) ?? Number.NaN) };
  });
}
