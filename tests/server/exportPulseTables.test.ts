import { describe, expect, it } from 'vitest';
import type { EvaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';
import { circuitTablesOf, openCircuitRows } from '../../server/export/pulseTables.ts';
import { ucumCode } from '../../server/export/ucum.ts';
import { pulseRecord } from './pulseRecordFixture.ts';
import { ucumCodeIsValid } from './ucum.ts';

const origin = { fitId: 1, testId: 2, temperatureC: null };

/** The record of the fixture with its pulses changed. */
function withPulses(change: (pulses: EvaluatedPulseRecord['pulses']) => EvaluatedPulseRecord['pulses']) {
  const record = pulseRecord(1);
  return { ...record, pulses: change(record.pulses) };
}

describe('circuit tables of an evaluated pulse record', () => {
  it('ascend in SOC, one for each direction, with the range they were measured in', () => {
    const record = withPulses((pulses) => [
      ...pulses.toReversed(),
      ...pulses.map((pulse) => ({
        ...pulse,
        direction: 'discharge' as const,
        currentA: -2,
        socBefore: 0.9 - (pulse.socBefore ?? 0),
      })),
    ]);
    const tables = circuitTablesOf(record, origin);
    expect(
      tables.map((table) => [table.direction, table.rows.map((row) => Number(row.soc.toFixed(9)))]),
    ).toEqual([
      ['charge', [0.1, 0.3, 0.5, 0.7, 0.9]],
      ['discharge', [0, 0.2, 0.4, 0.6, 0.8]],
    ]);
    expect(tables[0].validity).toEqual({
      socMin: 0.1,
      socMax: 0.9,
      temperatureMinC: 25,
      temperatureMaxC: 25,
      currentMaxA: 2,
      durationMaxS: 30,
    });
    expect(tables[0].temperatureC).toBe(25);
  });

  it('keep to pulses of one current, the nearest to 1 C among those that reach as many states of charge', () => {
    const record = withPulses((pulses) =>
      pulses.flatMap((pulse, i) => [
        { ...pulse, index: 10 * i, currentA: 8 },
        { ...pulse, index: 10 * i + 1, currentA: 2.1, socBefore: (pulse.socBefore ?? 0) + 0.01 },
        { ...pulse, index: 10 * i + 2, currentA: 0.4, socBefore: (pulse.socBefore ?? 0) + 0.02 },
      ]),
    );
    const [table] = circuitTablesOf(record, origin);
    expect(table.rows.map((row) => row.currentA)).toEqual([2.1, 2.1, 2.1, 2.1, 2.1]);
    const few = {
      ...record,
      pulses: record.pulses.filter((pulse) => pulse.currentA !== 2.1 || pulse.index < 20),
    };
    expect(circuitTablesOf(few, origin)[0].rows.map((row) => row.currentA)).toEqual([8, 8, 8, 8, 8]);
  });

  it('leave out pulses without a fit or a state of charge', () => {
    const record = withPulses((pulses) =>
      pulses.map((pulse, i) =>
        i === 0 ? { ...pulse, circuit: null } : i === 1 ? { ...pulse, socBefore: null } : pulse,
      ),
    );
    expect(circuitTablesOf(record, origin)[0].rows.map((row) => row.soc)).toEqual([0.5, 0.7, 0.9]);
    expect(
      circuitTablesOf(
        withPulses(() => []),
        origin,
      ),
    ).toEqual([]);
  });

  it('name parameters and units of the covariance as the document does', () => {
    const [row] = circuitTablesOf(pulseRecord(1), origin)[0].rows;
    expect(row.covariance).toMatchObject({ names: ['ocv', 'r0'], units: ['V', 'Ohm'] });
    expect(row.branches).toHaveLength(2);
  });

  it('give the open-circuit curve ascending, however the record has it', () => {
    const record = pulseRecord(1);
    const curve = record.openCircuit;
    if (curve === null) throw new Error('no curve');
    const turned = { ...curve, soc: curve.soc.toReversed(), ocvV: curve.ocvV.toReversed() };
    const { rows } = openCircuitRows(turned, origin);
    expect(rows).toEqual(openCircuitRows(curve, origin).rows);
    expect(rows.map((row) => row.soc)).toEqual([...curve.soc].sort((a, b) => a - b));
  });
});

describe('units of the database as UCUM codes', () => {
  it('are valid for every unit, also for one that UCUM does not have', () => {
    for (const unit of ['Ah', 'Ω', '°C', 'Ohm', 'mV/d', 'Ah/cycle', '', 'counts per minute', 'µ"{}', 'km²'])
      expect(ucumCodeIsValid(ucumCode(unit)), `${unit} ${ucumCode(unit)}`).toBe(true);
    expect([ucumCode('Ah'), ucumCode('Ω'), ucumCode('°C'), ucumCode('counts')]).toEqual([
      'A.h',
      'Ohm',
      'Cel',
      '{counts}',
    ]);
  });
});
