import type { RestResult, Test } from '../contract/tests.ts';
import type { NewMeasurement } from '../store/measurements.ts';
import { newTestMeasurement } from './newTestMeasurement.ts';

/** What a rest record says of its cell: the open-circuit voltage at its end and the drift in mV a day (K value). */
export function restMeasurements(result: RestResult, test: Test, fitId: number): NewMeasurement[] {
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
  ];
}
