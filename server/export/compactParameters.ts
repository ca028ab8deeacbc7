import type { ParameterMeasurement, ParameterSet } from '../contract/parameterSet.ts';

/**
 * The parameter set without the derivation of its tables: of each quantity of a cell only the value of the greatest age at
 * each temperature, direction, duration and current that is not at a state of charge (those are the rows of the tables), no
 * covariances, and the provenance as the path of the full one.
 */
export function compactParameters(set: ParameterSet): ParameterSet {
  return {
    ...set,
    form: 'compact',
    cells: set.cells.map((cell) => ({
      ...cell,
      measurements: newestWithoutSoc(cell.measurements),
      circuits: cell.circuits.map(({ restPolarisations: _, ...table }) => ({
        ...table,
        rows: table.rows.map((row) => ({ ...row, covariance: null })),
      })),
    })),
    provenance: {
      software: set.provenance.software,
      origin: `/api/v1/parameter-sets/${set.kind}/${set.subject.id}/origin`,
      fits: [],
      tests: [],
      files: [],
    },
  };
}

/** Temperatures that differ by less than this are one condition of the document, K. Common practice, no source. */
const sameTemperatureK = 2.5;

function newestWithoutSoc(measurements: readonly ParameterMeasurement[]): ParameterMeasurement[] {
  const newest = new Map<string, ParameterMeasurement>();
  for (const one of measurements) {
    const { soc, temperatureC, direction, durationS, currentA } = one.condition;
    if (soc !== null || one.excludedReason !== null || one.result.value === null) continue;
    const temperature = temperatureC === null ? null : Math.round(temperatureC / sameTemperatureK);
    const current = currentA === null ? null : Number(currentA.toPrecision(2));
    const key = JSON.stringify([one.quantity, temperature, direction, durationS, current]);
    const other = newest.get(key);
    // By age as the cell's capacity is; of one age what was evaluated last.
    if (other === undefined || (one.cycle ?? -1) >= (other.cycle ?? -1)) newest.set(key, one);
  }
  return [...newest.values()];
}
