import { SAME_TEMPERATURE_C } from '../../../fitting/circuit/index.ts';
import type { CircuitTable } from '../../contract/parameterSet.ts';

/** A test that reaches less than this share of the states of charge of another cannot represent it. */
export const ENOUGH_OF_STATES = 0.8;

/** A circuit table with what it must compete by. */
export interface TestedCircuit extends Pick<CircuitTable, 'direction' | 'temperatureC'> {
  readonly testId: number;
  readonly rows: readonly unknown[];
  readonly cycle: number | null;
}

/**
 * Circuit tables of one cell ordered by how well each represents its temperature: the latest in its life first; of these,
 * those that reach about as many states of charge as any at that temperature, so that a short repeat does not displace a
 * whole characterisation; of these the newest.
 */
export function mostTellingFirst<T extends TestedCircuit>(circuits: readonly T[]): T[] {
  const age = (one: T): number => one.cycle ?? 0;
  const alike = (one: T, other: T): boolean =>
    one.direction === other.direction &&
    age(one) === age(other) &&
    (one.temperatureC === null || other.temperatureC === null
      ? one.temperatureC === other.temperatureC
      : Math.abs(one.temperatureC - other.temperatureC) <= SAME_TEMPERATURE_C);
  const partial = new Map(
    circuits.map((one) => {
      const most = Math.max(...circuits.filter((other) => alike(one, other)).map(({ rows }) => rows.length));
      return [one, one.rows.length < ENOUGH_OF_STATES * most];
    }),
  );
  return [...circuits].sort(
    (a, b) => age(b) - age(a) || Number(partial.get(a)) - Number(partial.get(b)) || b.testId - a.testId,
  );
}
