import { describe, expect, it } from 'vitest';
import type { ChargeLog } from '../../fitting/charge-log/chargeLog.ts';
import { logConditions } from '../../server/assess/charge-log/logConditions.ts';
import { roleOf, withNumber } from '../../server/import/chargeLogColumns.ts';
import { nameColumns } from '../../server/import/proposeColumns.ts';

/** A log at 1 s: its currents in turn, the voltage 3.6 V at rest and 50 mohm under current. */
function logOf(...stretches: readonly (readonly [seconds: number, currentA: number])[]): ChargeLog {
  const currentA = Float64Array.from(
    stretches.flatMap(([seconds, current]) => new Array<number>(seconds).fill(current)),
  );
  return {
    timeS: currentA.map((_, row) => row),
    currentA,
    cells: [{ voltageV: currentA.map((current) => 3.6 + 0.05 * current), temperatureC: null }],
    stackVoltageV: null,
    bus: null,
    sourceVoltageV: null,
    ambientTemperatureC: 25,
  };
}

describe('the conditions of a measured charge', () => {
  it('take the start voltage from the rest, also where a discharge lies between rest and charge, and count what it moved', () => {
    const found = logConditions(logOf([40, 0], [36, -2], [600, 1.5]));
    expect(found.beginsAtRest).toBe(true);
    expect(found.startVoltagesV[0]).toBeCloseTo(3.6, 12);
    expect(found.firstRow).toBe(76);
    // 36 s at -2 A with half an interval to either side: -2 A of the way down and, upwards, until 1.5 A is reached.
    expect(found.movedBeforeAh).toBeCloseTo((-2 * 0.5 - 2 * 35 + (1.5 - 2) * 0.5) / 3600, 12);
    expect(found.stages[0].currentA).toBeCloseTo(1.5, 12);
  });

  it('know no start voltage of a log that begins under current of either sign', () => {
    expect(logConditions(logOf([600, 1.5])).beginsAtRest).toBe(false);
    expect(logConditions(logOf([30, -2], [600, 1.5])).beginsAtRest).toBe(false);
  });
});

describe('the columns of a stack log', () => {
  it.each([
    ['Laufzeit', 'time'],
    ['Stapelstrom (A)', 'stack-current'],
    ['Ausgangsspannung (mV)', 'stack-voltage'],
    ['Gesamtspannung [V]', 'stack-voltage'],
    ['Eingangsspannung (V)', 'bus-voltage'],
    ['Eingangsstrom (mA)', 'bus-current'],
    ['Quellenspannung', 'source-voltage'],
    ['Umgebungstemperatur (°C)', 'ambient-temperature'],
    ['Wandlertemperatur', 'converter-temperature'],
    ['Zellspannung 1 (V)', 'cell-voltage-1'],
    ['Spannung Zelle 2 (V)', 'cell-voltage-2'],
    ['Zelltemperatur 2', 'cell-temperature-2'],
    ['Cell voltage 2 (V)', 'cell-voltage-2'],
    ['U_out [V]', 'stack-voltage'],
  ])('%s is %s', (header, role) => {
    expect(nameColumns([header], [null]).map((column) => roleOf(withNumber(column)))).toEqual([role]);
  });
});
