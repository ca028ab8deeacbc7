import { describe, expect, it } from 'vitest';
import type { CellParameters, ParameterSet } from '../../server/contract/parameterSet.ts';
import { cHeader } from '../../server/export/cHeader.ts';
import { circuitModelOf } from '../../server/export/circuitModel.ts';
import { circuitSubjectOf } from '../../server/export/circuitSubject.ts';
import { type ExportRefusalCode, ExportRefused } from '../../server/export/refusal.ts';
import { spiceNumber } from '../../server/export/spiceCell.ts';
import { spiceSubcircuit } from '../../server/export/spiceSubcircuit.ts';
import { cellFixture, circuitRow, oneCellFixture, stackFixture, value } from './exportFixture.ts';

/** What the circuit formats say of the one-cell document after a change to its cell. */
function refusalOf(change: (cell: CellParameters) => void): ExportRefused {
  const set = oneCellFixture();
  set.cells[0].serial = 'A1';
  change(set.cells[0]);
  for (const write of [spiceSubcircuit, cHeader]) {
    try {
      write(circuitSubjectOf(set));
    } catch (error) {
      if (error instanceof ExportRefused) return error;
      throw error;
    }
  }
  throw new Error('was not refused');
}

const missing = (unit: 'Ohm' | 's' | 'A.h') => ({
  value: null,
  unit,
  standardUncertainty: null,
  reason: 'not-fitted',
});

const cases: readonly [string, ExportRefusalCode, string, (cell: CellParameters) => void][] = [
  [
    'a cell without a circuit fit',
    'no-circuit-fit',
    'cell "A1": circuit model (discharge pulses): missing; evaluate a pulse test of this cell first',
    (cell) => {
      cell.circuits = [];
    },
  ],
  [
    'a table with one state of charge',
    'too-few-soc',
    'cell "A1": circuit table at 25 °C: 1 state of charge; a table over SOC needs at least two',
    (cell) => {
      cell.circuits[0].rows = cell.circuits[0].rows.slice(0, 1);
    },
  ],
  [
    'a negative capacitance near empty',
    'parameter-out-of-range',
    'tau2 at SOC 0.05 (capacitance -63.25 F): -1.2; it must be above zero to be physical',
    (cell) => {
      cell.circuits[0].rows[0].branches[1].tau = value(-1.2, 's');
    },
  ],
  [
    'a negative resistance',
    'parameter-out-of-range',
    'cell "A1": circuit table at 25 °C: r0 at SOC 0.1: -0.01; it must be above zero to be physical',
    (cell) => {
      cell.circuits[0].rows[1].r0 = value(-0.01, 'Ohm');
    },
  ],
  [
    'a resistance that was not fitted',
    'number-missing',
    'cell "A1": circuit table at 25 °C: r1 at SOC 0.05: missing; it is needed here and was not given (not-fitted)',
    (cell) => {
      cell.circuits[0].rows[0].branches[0].r = missing('Ohm');
    },
  ],
  [
    'a cell without a capacity',
    'no-capacity',
    'cell "A1": capacity: missing',
    (cell) => {
      cell.capacity = missing('A.h');
    },
  ],
  [
    'states of charge that do not ascend',
    'soc-not-ascending',
    'SOC 0.05 in row 2; the SOC of the rows must ascend',
    (cell) => {
      cell.circuits[0].rows[1].soc = 0.05;
    },
  ],
  [
    'an open-circuit curve of one point',
    'no-open-circuit',
    'cell "A1": open-circuit voltage: 1 state of charge',
    (cell) => {
      if (cell.openCircuit) cell.openCircuit.rows = cell.openCircuit.rows.slice(0, 1);
    },
  ],
  [
    'a number that is not finite',
    'parameter-out-of-range',
    'r0 at SOC 0.05: NaN; a finite number is needed',
    (cell) => {
      cell.circuits[0].rows[0].r0 = value(Number.NaN, 'Ohm');
    },
  ],
];

describe('circuit formats are refused by name, with nothing written', () => {
  it.each(cases)('for %s', (_, code, message, change) => {
    const refusal = refusalOf(change);
    expect(refusal.code).toBe(code);
    expect(refusal.message).toContain(message);
  });

  it('for a lot, which is no circuit', () => {
    const set: ParameterSet = { ...stackFixture(), kind: 'lot' };
    expect(() => circuitSubjectOf(set)).toThrow(
      'subject: lot; a circuit model is of one cell, a pair or a stack',
    );
  });
});

describe('numbers in a circuit file', () => {
  it('are in plain exponent form, which no simulator can read as a scale letter', () => {
    const text = spiceSubcircuit(circuitSubjectOf(stackFixture()));
    const statements = text
      .split('\n')
      .filter((line) => !line.startsWith('*'))
      .join('\n');
    // A digit followed by a letter other than the exponent's would be a scale factor: 1F is 1e-15, 1M is 1e-3.
    expect(statements.match(/(?<![\w.])\d[\d.]*(?!e[+-]\d)[a-df-zA-DF-Z]/g)).toBeNull();
    expect(statements.match(/[0-9.]+e[+-]\d+/g)?.length).toBeGreaterThan(100);
    expect(text.split('\n').every((line) => /^[\x20-\x7e]*$/.test(line))).toBe(true);
  });

  it('read back to the same float64', () => {
    for (const number of [0.1 + 0.2, 1e-310, 4.2, -0.05, 123456.789])
      expect(Number(spiceNumber(number))).toBe(number);
  });

  it('are refused where they are not finite', () => {
    expect(() => spiceNumber(Number.POSITIVE_INFINITY, 'r0')).toThrow(
      'r0: Infinity; a finite number is needed',
    );
  });
});

describe('the circuit model of a cell', () => {
  const { cellType } = stackFixture();

  it('takes charge pulses where there are any, else discharge pulses, and says which', () => {
    const cell = cellFixture(1, 'A1', 2, 1);
    const [table] = cell.circuits;
    cell.circuits = [
      { ...table, direction: 'discharge', rows: table.rows.map((row) => circuitRow(row.soc, 2, 3.7)) },
    ];
    expect(circuitModelOf(cell, cellType).direction).toBe('discharge');
    cell.circuits.push(table);
    const model = circuitModelOf(cell, cellType);
    expect(model.direction).toBe('charge');
    expect(model.notes).toContain('resistances from charge pulses of up to 2.2 A');
    expect(circuitModelOf(cell, cellType, { direction: 'discharge' }).cell.r0Ohm).not.toEqual(
      model.cell.r0Ohm,
    );
  });

  it('gives a row with fewer branches one of no resistance and says where', () => {
    const cell = cellFixture(1, 'A1', 2, 1);
    const [first, second] = cell.circuits[0].rows;
    first.branches = first.branches.slice(0, 1);
    const model = circuitModelOf(cell, cellType);
    const [, branch] = model.cell.branches;
    expect((branch.rOhm as number[])[0]).toBe(0);
    expect((branch.tauS as number[])[0]).toBe(second.branches[1].tau.value);
    expect(model.notes.join()).toContain('fewer branches were fitted at SOC 0.05');
  });

  it('stands tables of several temperatures side by side; of two at one temperature the later counts', () => {
    const cell = cellFixture(1, 'A1', 2, 1);
    const [warm] = cell.circuits;
    const at = (temperatureC: number, scale: number) => ({
      ...warm,
      temperatureC,
      rows: warm.rows.map((row, i) => circuitRow(row.soc, scale, 3.4 + 0.1 * i)),
    });
    cell.circuits = [at(25, 1), at(0, 3), at(24.6, 1.1)];
    const model = circuitModelOf(cell, cellType);
    expect(model.cell.temperatureC).toEqual([0, 24.6]);
    const r0 = model.cell.r0Ohm as number[][];
    expect(r0).toHaveLength(model.cell.soc.length);
    expect(r0[0][0] / r0[0][1]).toBeCloseTo(3 / 1.1, 12);
  });

  it('extends the open-circuit voltage by its last slope and holds the resistances at their edge', () => {
    const cell = cellFixture(1, 'A1', 2, 1);
    if (cell.openCircuit) cell.openCircuit.rows = cell.openCircuit.rows.slice(1, -2);
    const { soc, ocvV, r0Ohm } = circuitModelOf(cell, cellType).cell;
    const voltages = ocvV as number[];
    const resistances = r0Ohm as number[];
    const end = soc.indexOf(0.9);
    expect(voltages[end]).toBeCloseTo(3.86 + ((3.86 - 3.705) / 0.2) * 0.2, 12);
    expect(resistances[0]).toBe(cell.circuits[0].rows[0].r0.value);
  });
});
