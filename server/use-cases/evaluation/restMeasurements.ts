import type { RestResult, Test } from '../../contract/tests.ts';
import type { NewMeasurement } from '../../store/measurements.ts';
import type { Leakage } from './leakageOf.ts';
import { newTestMeasurement } from './newTestMeasurement.ts';

/**
 * What a rest record says of its cell: the open-circuit voltage at its end, the drift in mV a day (K value) and the current
 * that would discharge the cell as fast.
 */
export function restMeasurements(
  result: RestResult,
  leakage: Leakage,
  test: Test,
  fitId: number,
): NewMeasurement[] {
  const temperatureC = result.temperatureMeanC ?? test.temperatureC;
  return [
    newTestMeasurement(test, fitId, {
      quantity: 'ocv',
      unit: 'V',
      value: result.lastVoltageV,
      soc: test.startSoc,
      temperatureC,
      method: 'end of rest record',
    }),
    newTestMeasurement(test, fitId, {
      quantity: 'drift',
      unit: 'mV/d',
      value: result.driftMvPerDay,
      standardUncertainty: result.driftStandardUncertaintyMvPerDay,
      reason: result.reason,
      temperatureC,
      method: 'slope of the rest voltage',
    }),
    newTestMeasurement(test, fitId, {
      quantity: 'leakage-current',
      unit: 'A',
      value: leakage.currentA,
      standardUncertainty: leakage.standardUncertaintyA,
      reason: leakage.reason,
      soc: leakage.soc,
      temperatureC,
      method: 'drift over the slope of the open-circuit curve, times the capacity',
    }),
  ];
}
