import type { ImpedanceResult } from '../../contract/impedance.ts';
import type { Test } from '../../contract/tests.ts';
import type { NewMeasurement } from '../../store/measurements.ts';
import type { StoredSweep } from '../../store/sweeps.ts';
import { newTestMeasurement } from './newTestMeasurement.ts';

/**
 * |Z| at 1 kHz of each spectrum (the quantity that IEC 61960-3 calls R_ac), with its state of charge and temperature, as
 * it also comes from cell tables. A spectrum that does not reach 1 kHz gives the reason in place of a value.
 */
export function impedanceMeasurements(
  result: ImpedanceResult,
  sweeps: readonly StoredSweep[],
  test: Test,
  fitId: number,
): NewMeasurement[] {
  return result.sweeps.map(({ at1kHz, soc, counted, temperatureC, position }) =>
    newTestMeasurement(test, fitId, {
      quantity: 'impedance-1khz',
      unit: 'Ohm',
      value: at1kHz.magnitudeOhm,
      standardUncertainty: at1kHz.standardUncertaintyOhm,
      reason:
        at1kHz.reason ?? (at1kHz.standardUncertaintyOhm === null ? 'too-few-points-for-uncertainty' : null),
      soc,
      counted,
      temperatureC: temperatureC ?? test.temperatureC,
      method: 'impedance spectrum, |Z| interpolated at 1 kHz',
      sourceRow: sweeps[position].sourceRowFirst,
    }),
  );
}
