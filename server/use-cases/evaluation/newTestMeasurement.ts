import type { QuantityName } from '../../contract/measurements.ts';
import type { Test } from '../../contract/tests.ts';
import type { NewMeasurement } from '../../store/measurements.ts';

/** A measurement of a test's fit, with everything that is not given taken as unknown. */
export function newTestMeasurement(
  test: Test,
  fitId: number,
  given: {
    quantity: QuantityName;
    unit: string;
    value: number | null;
    method: string;
  } & Partial<NewMeasurement>,
): NewMeasurement {
  return {
    cellId: test.cellId,
    standardUncertainty: null,
    reason: null,
    soc: null,
    temperatureC: test.temperatureC,
    direction: null,
    durationS: null,
    currentA: null,
    cycle: test.cycle,
    efc: test.efc,
    excludedReason: null,
    measuredAt: test.startedAt,
    testId: test.id,
    fitId,
    sourceFileId: null,
    sourceRow: null,
    ...given,
  };
}
