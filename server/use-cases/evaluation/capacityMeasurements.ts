import type { CapacityResult } from '../../contract/capacity.ts';
import type { Test } from '../../contract/tests.ts';
import type { NewMeasurement } from '../../store/measurements.ts';
import { newTestMeasurement } from './newTestMeasurement.ts';

/** What a capacity test says of its cell: capacity and energy of each discharge, charge times, efficiencies. */
export function capacityMeasurements(
  result: CapacityResult,
  evaluated: Test,
  fitId: number,
  of: (row: number) => Test = () => evaluated,
): NewMeasurement[] {
  const rows: NewMeasurement[] = [];
  for (const run of result.runs) {
    // A run of several that make the record has a cycle of its own.
    const test = { ...evaluated, cycle: of(run.startRow).cycle };
    const condition = {
      temperatureC: run.temperatureMeanC ?? test.temperatureC,
      currentA: run.meanCurrentA,
      // What went before a record that begins in the middle of a run belongs to its capacity too.
      excludedReason: run.plausible
        ? run.start === 'under-way'
          ? 'starts-under-load'
          : run.conditional === 'ends-under-load'
            ? 'ends-under-load'
            : null
        : run.implausibleReason,
      reason: run.capacityAh === null ? run.reason : null,
    };
    if (run.direction === 'discharge') {
      const method = `discharge to ${run.cutoffVoltageV ?? '?'} V (${result.definition})`;
      rows.push(
        newTestMeasurement(test, fitId, {
          quantity: 'capacity',
          unit: 'A.h',
          value: run.capacityAh,
          standardUncertainty: run.standardUncertaintyAh,
          method,
          ...condition,
        }),
        newTestMeasurement(test, fitId, {
          quantity: 'energy',
          unit: 'W.h',
          value: run.energyWh,
          method,
          ...condition,
        }),
      );
    } else {
      rows.push(
        newTestMeasurement(test, fitId, {
          quantity: 'charge-capacity',
          unit: 'A.h',
          value: run.capacityAh,
          standardUncertainty: run.standardUncertaintyAh,
          method: 'charge put in',
          ...condition,
        }),
      );
    }
  }
  for (const cycle of result.cycles) {
    const counted = result.runs[cycle.dischargeRun ?? cycle.chargeRun ?? 0];
    const test = {
      ...evaluated,
      cycle: counted === undefined ? evaluated.cycle : of(counted.startRow).cycle,
    };
    rows.push(
      newTestMeasurement(test, fitId, {
        quantity: 'coulombic-efficiency',
        unit: '1',
        value: cycle.coulombicEfficiency,
        reason: cycle.coulombicEfficiency === null ? cycle.reason : null,
        method: 'charge out over charge in of one cycle',
      }),
      newTestMeasurement(test, fitId, {
        quantity: 'energy-efficiency',
        unit: '1',
        value: cycle.energyEfficiency,
        reason: cycle.energyEfficiency === null ? cycle.reason : null,
        method: 'energy out over energy in of one cycle',
      }),
    );
  }
  return rows;
}
