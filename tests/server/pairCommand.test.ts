import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { registerPair } from '../../server/commands/pair.ts';
import { createProgram, runProgram } from '../../server/commands/program.ts';
import { cautionSentences, generalCautions } from '../../server/contract/cautions.ts';
import { pairingResult } from '../../server/contract/pairingResult.ts';

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'gemel-pair-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

function write(name: string, text: string): string {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
}

/** Runs `gemel pair …` and collects what it writes. */
async function pair(...argv: string[]): Promise<{ code: number; out: string; err: string }> {
  let [out, err] = ['', ''];
  const spies = [
    vi.spyOn(process.stdout, 'write').mockImplementation((text) => {
      out += text;
      return true;
    }),
    vi.spyOn(process.stderr, 'write').mockImplementation((text) => {
      err += text;
      return true;
    }),
  ];
  try {
    const program = createProgram();
    registerPair(program);
    return { code: await runProgram(program, ['pair', ...argv]), out, err };
  } finally {
    for (const spy of spies) spy.mockRestore();
  }
}

const table = [
  'serial,capacity_mAh,resistance_30s_mohm,resistance_10s_mohm,ocv_V',
  'A1,2500,31,20.0,3.70',
  'A2,2502,32,20.1,3.71',
  'A3,2550,33,22.0,3.70',
  'A4,2549,34,21.9,3.69',
  'A5,2600,36,25.0,3.70',
].join('\n');

describe('gemel pair', () => {
  test('pairs a plain table by capacity and the resistance nearest to 10 s, in the contract of the design', async () => {
    const { code, out } = await pair(write('cells.csv', table), '--json');
    const result = pairingResult.parse(JSON.parse(out));
    expect(code).toBe(0);
    expect(result.features.map(({ column, tolerance }) => [column, tolerance])).toEqual([
      ['capacity_mAh', 0.01 * 2.549],
      ['resistance_10s_mohm', expect.closeTo(0.05 * 0.0219, 12)],
    ]);
    expect(result.pairs.map(({ cells }) => cells)).toEqual([
      ['A1', 'A2'],
      ['A3', 'A4'],
    ]);
    expect(result.pairs[0].cost).toBeCloseTo((0.002 / 0.02549) ** 2 + (0.0001 / (0.05 * 0.0219)) ** 2, 9);
    expect(result.unpaired).toMatchObject([{ cell: 'A5', reason: 'odd-count' }]);
    expect(result.certificate).toMatchObject({ proven: true, reason: 'confirmed' });
  });

  test('names an impossible value, and no missing one, as the reason why a cell is left over', async () => {
    const text = 'serial,capacity_Ah\nA,10000001\nB,2\nC,2.01\nD,\n';
    const { code, out } = await pair(write('impossible.csv', text));
    expect(code).toBe(0);
    expect(out).toContain('A  left over: implausible-value (capacity)');
    expect(out).toContain('D  left over: missing-value (capacity)');
  });

  test('tells people the pairs, what is left over and the proof, and warnings beside', async () => {
    const { code, out, err } = await pair(write('cells.csv', table));
    expect(code).toBe(0);
    expect(out).toMatch(/^A1 \+ A2 {2}cost .*loses 1\.00 mAh/);
    expect(out).toMatch(
      /A5 {2}left over: odd-count\ntotal cost .*proven best over 10 acceptable pairs\nCautions\n/,
    );
    expect(err).toMatch(/warning: feature-without-uncertainty: capacity/);
  });

  test('follows criteria, converts units and reads uncertainties and warning signs', async () => {
    const cells = write(
      'signs.csv',
      [
        'cell_id;capacity_Ah;capacity_uncertainty_mAh;drift_mV_per_day;warning',
        'a;2,5;4;0,1;',
        'b;2,5;4;0,2;none',
        'c;2,5;4;0,9;',
        'd;2,5;4;0,8;',
        'e;2,5;4;0,5;dented',
      ].join('\n'),
    );
    const criteria = write(
      'criteria.json',
      JSON.stringify({
        features: [
          { name: 'drift', quantity: 'self-discharge', tolerance: { kind: 'absolute', value: 0.0002 } },
          { name: 'capacity', quantity: 'capacity', tolerance: { kind: 'percent', value: 1 } },
        ],
        use: { openCircuitSlopeV: 0.9 },
      }),
    );
    const { out } = await pair(cells, '--criteria', criteria, '--json');
    const result = pairingResult.parse(JSON.parse(out));
    expect(result.pairs.map((p) => p.cells)).toEqual([
      ['a', 'b'],
      ['c', 'd'],
    ]);
    expect(result.pairs[0].cost).toBeCloseTo(0.25, 9);
    expect(result.pairs[0].consequences.bypassChargePerCycleAh).toBeCloseTo((1e-4 / 0.9) * 2.5, 9);
    expect(result.cells[0].values[1]).toEqual({
      feature: 'capacity',
      value: 2.5,
      standardUncertainty: 0.004,
    });
    expect(result.unpaired).toMatchObject([{ cell: 'e', reason: 'warning-sign', value: 'dented' }]);
  });

  test('takes the usual criteria of a purpose, says what it lacks, and refuses one that the table cannot serve at all', async () => {
    const cells = write('cells.csv', table);
    const fast = pairingResult.parse(
      JSON.parse((await pair(cells, '--purpose', 'fast-charging', '--json')).out),
    );
    expect(fast.features.map(({ quantity, importance }) => [quantity, importance])).toEqual([
      ['resistance', 2],
      ['capacity', 1],
    ]);
    // The main quantity is missing: the result says so above the pairs.
    const storage = await pair(cells, '--purpose', 'long-storage');
    expect(storage.code).toBe(0);
    expect(storage.out).toMatch(/^No self-discharge is measured, .* paired by capacity instead\.\nA/);
    const none = await pair(write('masses.csv', 'serial,mass_g\nA,45\nB,46\n'), '--purpose', 'long-storage');
    expect(none).toMatchObject({
      code: 1,
      err: expect.stringMatching(/no self-discharge and no capacity to pair by/),
    });
    expect((await pair(cells, '--purpose', 'racing')).code).toBe(2);
    expect((await pair(cells, '--purpose', 'run-time', '--criteria', 'x.json')).code).toBe(2);
  });

  test.each([
    ['Cell ID,Capacity (Ah),DCIR 10s [mOhm]', [2.5, 0.02]],
    ['name,capacity_at_cycle_10_mAh,R_Ohm', [0.0025, 20]],
    ['serial,rated_capacity_Ah,capacity_Ah,acir_mohm', [20, null]],
  ] as [string, [number, number | null]][])(
    'finds the columns of a table headed %s',
    async (header, [capacity, resistance]) => {
      const last = header.split(',').length === 4 ? ',1' : '';
      const cells = write('headed.csv', `${header}\nA,2.5,20${last}\nB,2.6,21${last}\n`);
      const { out } = await pair(cells, '--json');
      const values = pairingResult.parse(JSON.parse(out)).cells[0].values.map(({ value }) => value);
      expect(values[0]).toBeCloseTo(capacity, 12);
      expect(values[1]).toBeCloseTo(resistance ?? 0.001, 12);
    },
  );

  test('ends its words with the usual cautions', async () => {
    const { out } = await pair(write('two.csv', 'id,capacity_Ah\n1,2.5\n2,2.6\n'));
    for (const code of generalCautions) expect(out).toContain(cautionSentences[code]);
  });

  test('takes the only unit in which the values of a column are possible where it states none, and says so', async () => {
    const { out } = await pair(write('plain.csv', 'id,capacity\n1,2.5\n2,2.6\n'), '--json');
    const result = pairingResult.parse(JSON.parse(out));
    expect(result.pairs[0].consequences.usableCapacityAh).toBe(2.5);
    expect(result.warnings).toContainEqual({
      code: 'unit-assumed',
      feature: 'capacity',
      cells: [],
      detail: 'Ah',
    });
    const unclear = write('unclear.csv', 'id,capacity,ocv_V\n1,50,3.6\n2,51,3.6\n');
    expect(await pair(unclear)).toMatchObject({
      code: 1,
      err: expect.stringMatching(/no capacity and no resistance/),
    });
    const given = JSON.parse((await pair(unclear, '--units', 'capacity=mAh', '--json')).out);
    expect(given.cells[0].values[0].value).toBe(0.05);
  });

  test.each([
    [
      'a serial that is there twice',
      'serial,capacity_Ah\nA,2.5\nB,2.4\nA,2.6\n',
      /row 4.*\(A\).*already in row 2/,
    ],
    ['a row without a serial', 'serial,capacity_Ah\nA,2.5\n,2.4\n', /row 3.*names no cell/],
    ['one cell', 'serial,capacity_Ah\nA,2.5\n', /fewer than two cells/],
    ['a word for a number', 'serial,capacity_Ah\nA,2.5\nB,big\n', /row 3.*capacity_Ah.*big/],
    ['no column that names cells', 'capacity_Ah,mass_g\n2.5,45\n2.4,46\n', /names the cells/],
    ['nothing to pair by', 'serial,mass_g\nA,45\nB,46\n', /no capacity and no resistance to pair by/],
  ])('refuses %s with exit code 1 and says where', async (_, text, message) => {
    const { code, out, err } = await pair(write('bad.csv', text), '--json');
    expect(code).toBe(1);
    expect(out).toBe('');
    expect(err).toMatch(message);
  });

  test('refuses criteria that are no JSON, are wrong, or ask for a column that is not there', async () => {
    const cells = write('cells.csv', table);
    const broken = await pair(cells, '--criteria', write('broken.json', '{'));
    expect(broken).toMatchObject({ code: 1, err: expect.stringMatching(/not valid JSON/) });
    const none = await pair(cells, '--criteria', join(folder, 'none.json'));
    expect(none).toMatchObject({ code: 1, err: expect.stringMatching(/There is no such file/) });
    const feature = {
      name: 'x',
      quantity: 'other',
      column: 'width_mm',
      tolerance: { kind: 'absolute', value: 1 },
    };
    const lacking = await pair(
      cells,
      '--criteria',
      write('lacking.json', JSON.stringify({ features: [feature] })),
    );
    expect(lacking).toMatchObject({
      code: 1,
      err: expect.stringMatching(/features\.0\.column \(width_mm\)/),
    });
  });

  test('ends with 2 for wrong usage', async () => {
    expect((await pair()).code).toBe(2);
    expect((await pair('cells.csv', '--fast')).code).toBe(2);
  });
});
