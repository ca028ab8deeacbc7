import type { NewMeasurement } from '../../server/store/measurements.ts';

/** A measurement of a cell as it is stored: a capacity without value, at no stated condition, but for what is given. */
export function newMeasurement(cellId: number, given: Partial<NewMeasurement> = {}): NewMeasurement {
  return {
    cellId,
    quantity: 'capacity',
    value: null,
    unit: 'A.h',
    standardUncertainty: null,
    reason: 'uncertainty-not-stated',
    soc: null,
    temperatureC: null,
    direction: null,
    durationS: null,
    currentA: null,
    cycle: null,
    efc: null,
    method: 'made for a test',
    excludedReason: null,
    measuredAt: null,
    testId: null,
    fitId: null,
    sourceFileId: null,
    sourceRow: null,
    ...given,
  };
}
