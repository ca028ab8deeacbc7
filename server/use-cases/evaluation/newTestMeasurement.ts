import type { QuantityName } from '../../contract/measurements.ts';
import type { Test } from '../../contract/tests.ts';
import type { NewMeasurement } from '../../store/measurements.ts';

/** Quantities that are 0 or negative only where the evaluation went wrong. */
const alwaysPositive: ReadonlySet<QuantityName> = new Set<QuantityName>([
  'resistance',
  'rdc',
  'impedance-1khz',
  'r0',
  'r1',
  'tau1',
  'r2',
  'tau2',
  'r3',
  'tau3',
]);

/**
 * A measurement of a test's fit, with everything that is not given taken as unknown. A value that cannot be, or whose
 * uncertainty is not finite, is not stored as a value: it is null with the reason `not-positive`, `not-finite` or
 * `undetermined`.
 */
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
  const fault = faultOf(given.quantity, given.value, given.standardUncertainty ?? null);
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
    ...(fault === null ? {} : { value: null, standardUncertainty: null, reason: fault }),
  };
}

function faultOf(
  quantity: QuantityName,
  value: number | null,
  standardUncertainty: number | null,
): 'not-finite' | 'undetermined' | 'not-positive' | null {
  if (value === null) return null;
  if (!Number.isFinite(value)) return 'not-finite';
  if (standardUncertainty !== null && !(standardUncertainty >= 0 && standardUncertainty < Infinity))
    return 'undetermined';
  return alwaysPositive.has(quantity) && !(value > 0) ? 'not-positive' : null;
}
