import { describe, expect, test } from 'vitest';
import type { CellToPair } from '../../server/assess/pairing/cellToPair.ts';
import { pairCells } from '../../server/assess/pairing/pairCells.ts';
import { parseCriteria } from '../../server/assess/pairing/pairingChecks.ts';
import type { PairingCriteriaInput } from '../../server/contract/pairingCriteria.ts';
import { pairingResult } from '../../server/contract/pairingResult.ts';
import { Refusal } from '../../server/errors.ts';

const criteria = (change: Partial<PairingCriteriaInput> = {}) =>
  parseCriteria({
    features: [
      { name: 'capacity', quantity: 'capacity', tolerance: { kind: 'percent', value: 1 } },
      {
        name: 'R(10 s)',
        quantity: 'resistance',
        condition: { durationS: 10, direction: 'charge' },
        tolerance: { kind: 'absolute', value: 0.001 },
      },
    ],
    // Outliers are the topic of their own tests.
    outlierLimit: null,
    ...change,
  });

const cell = (name: string, capacityAh: number | null, resistanceOhm: number | null): CellToPair => ({
  cell: name,
  row: null,
  warningSign: null,
  values: [capacityAh, resistanceOhm],
  standardUncertainties: [0.005, 0.0002],
});

/** Two tight pairs, one loose pair, and a cell of its own. */
const lot = [
  cell('a', 2.5, 0.02),
  cell('b', 2.501, 0.0201),
  cell('c', 2.55, 0.022),
  cell('d', 2.551, 0.0221),
  cell('e', 2.45, 0.018),
  cell('f', 2.46, 0.0182),
  cell('g', 2.3, 0.03),
];

/** The refusal that `work` throws. */
function refusalOf(work: () => unknown): Refusal {
  try {
    work();
  } catch (error) {
    if (error instanceof Refusal) return error;
    throw error;
  }
  throw new Error('nothing was refused');
}

describe('pairCells', () => {
  test('gives the documented cost, the pairs, the one left over with its reason, and the proof', () => {
    const result = pairCells(lot, criteria());
    expect(pairingResult.parse(result)).toEqual(result);
    expect(result.pairs.map((pair) => pair.cells)).toEqual([
      ['a', 'b'],
      ['c', 'd'],
      ['e', 'f'],
    ]);
    const tolerance = 0.01 * 2.5;
    expect(result.features[0].tolerance).toBeCloseTo(tolerance, 12);
    expect(result.pairs[2].cost).toBeCloseTo((0.01 / tolerance) ** 2 + (0.0002 / 0.001) ** 2, 9);
    expect(result.totalCost).toBeCloseTo(
      result.pairs.reduce((sum, pair) => sum + pair.cost, 0),
      12,
    );
    expect(result.unpaired).toMatchObject([{ cell: 'g', reason: 'odd-count', nearestMiss: { cell: 'b' } }]);
    expect(result.certificate).toMatchObject({ proven: true, mostPairs: 3, reason: 'confirmed' });
    expect(result.certificate.lowerBound).toBeCloseTo(result.totalCost, 12);
  });

  test('gives the same answer twice', () => {
    expect(pairCells(lot, criteria())).toEqual(pairCells(lot, criteria()));
  });

  test('states the consequences for the planned use in physical units', () => {
    const { pairs } = pairCells(lot, criteria({ use: { chargeCurrentA: 5 } }));
    expect(pairs[2].consequences).toMatchObject({ limitsCharge: 'f', limitsDischarge: 'e' });
    expect(pairs[2].consequences.usableCapacityAh).toBeCloseTo(2.45, 12);
    expect(pairs[2].consequences.voltageDifferenceV).toBeCloseTo(5 * 0.0002, 12);
  });

  test('marks pairs that the measurement cannot tell from their next best, and counts how often they recur', () => {
    const alike = [...lot.slice(0, 2), cell('h', 2.5, 0.02), cell('i', 2.501, 0.0201), ...lot.slice(2, 4)];
    const { pairs, bootstrap } = pairCells(alike, criteria());
    const one = (name: string) => pairs.find((pair) => pair.cells.includes(name))!;
    expect(one('a').indistinguishable).toBe(true);
    expect(one('c').indistinguishable).toBe(false);
    expect(one('c').bootstrapFrequency).toBe(1);
    expect(one('a').bootstrapFrequency).toBeLessThan(0.9);
    expect(one('c').probabilityWithinTolerance).toBeGreaterThan(0.99);
    expect(bootstrap).toMatchObject({ runs: 200 });
  });

  test('forbids pairs outside a hard limit and says which limit the nearest miss breaks', () => {
    const features = criteria().features.map((feature) => ({
      ...feature,
      pairLimit: { kind: 'absolute' as const, value: feature.quantity === 'capacity' ? 0.005 : 1 },
    }));
    const { pairs, unpaired } = pairCells(lot, criteria({ features }));
    expect(pairs.map((pair) => pair.cells)).toEqual([
      ['a', 'b'],
      ['c', 'd'],
    ]);
    const e = unpaired.find(({ cell: name }) => name === 'e')!;
    expect(e).toMatchObject({ reason: 'no-acceptable-partner', nearestMiss: { cell: 'f' } });
    expect(e.nearestMiss!.exceeded[0]).toMatchObject({ feature: 'capacity', limit: 0.005 });
  });

  test('leaves out cells with a warning sign, held back, out of a limit, outlying or with a missing value', () => {
    const features = criteria().features.map((feature) => ({ ...feature, cellMaximum: 2.552 }));
    const cells = [
      ...lot.slice(0, 6),
      cell('g', 2.5, 0.06),
      { ...cell('w', 2.5, 0.02), warningSign: 'deep discharge' },
      cell('x', 2.6, 0.02),
      cell('m', 2.5, null),
    ];
    const { pairs, unpaired } = pairCells(
      cells,
      criteria({ features, outlierLimit: 3.5, locks: { heldBack: ['a'] } }),
    );
    expect(Object.fromEntries(unpaired.map(({ cell: name, reason }) => [name, reason]))).toEqual({
      a: 'held-back',
      b: 'odd-count',
      g: 'outlier',
      w: 'warning-sign',
      x: 'outside-cell-limit',
      m: 'missing-value',
    });
    expect(unpaired.find(({ cell: name }) => name === 'w')!.value).toBe('deep discharge');
    expect(pairs).toHaveLength(2);
  });

  test('keeps locked pairs together and locked cells apart, whatever it costs', () => {
    const { pairs, certificate, totalCost } = pairCells(
      lot,
      criteria({ locks: { together: [['a', 'g']], apart: [['c', 'd']] } }),
    );
    expect(pairs[0]).toMatchObject({ cells: ['a', 'g'], locked: true });
    expect(pairs.some((pair) => pair.cells.includes('c') && pair.cells.includes('d'))).toBe(false);
    expect(certificate.proven).toBe(true);
    expect(certificate.lowerBound).toBeCloseTo(totalCost, 12);
  });

  test('builds larger stacks by a heuristic and never calls them proven', () => {
    const { totalCost, certificate, pairs, unpaired } = pairCells(lot, criteria({ cellsPerStack: 3 }));
    expect(pairs.map(({ cells }) => cells.length)).toEqual([3, 3]);
    expect(certificate).toMatchObject({ proven: false, reason: 'heuristic' });
    expect(certificate.lowerBound).toBeGreaterThan(0);
    expect(certificate.lowerBound).toBeLessThanOrEqual(totalCost);
    expect(pairs.reduce((sum, { cost }) => sum + cost, 0)).toBeCloseTo(totalCost, 9);
    expect(pairs.every(({ nextBestExchange }) => nextBestExchange === null)).toBe(true);
    expect(unpaired).toHaveLength(1);
  });

  test('two cells are one pair, and none that may be offered are no pair', () => {
    expect(pairCells(lot.slice(0, 2), criteria()).pairs).toHaveLength(1);
    const none = pairCells(lot.slice(0, 2), criteria({ locks: { heldBack: ['a', 'b'] } }));
    expect(none).toMatchObject({
      pairs: [],
      totalCost: 0,
      certificate: { proven: true, reason: 'nothing-to-pair' },
    });
  });
});

describe('pairCells refuses', () => {
  test('duplicate serials and fewer than two cells', () => {
    expect(refusalOf(() => pairCells([lot[0], lot[0], lot[1]], criteria())).places[0]).toMatchObject({
      field: 'serial',
      value: 'a',
    });
    expect(refusalOf(() => pairCells([lot[0]], criteria())).message).toMatch(/fewer than two cells/);
  });

  test('missing values where the criteria say so, naming cell and feature', () => {
    const refusal = refusalOf(() =>
      pairCells([...lot, cell('m', 2.5, null)], criteria({ missingValues: 'refuse' })),
    );
    expect(refusal.places).toMatchObject([{ field: 'R(10 s)', reason: 'cell m has no value' }]);
  });

  test.each([
    [{ together: [['a', 'z']] }, /no such cell/],
    [{ together: [['a', 'a']] }, /with itself/],
    [{ apart: [['a', 'a']] }, /from itself/],
    [
      {
        together: [
          ['a', 'b'],
          ['c', 'b'],
        ],
      },
      /already locked to a/,
    ],
    [{ together: [['a', 'b']], apart: [['b', 'a']] }, /locked apart/],
    [{ together: [['a', 'b']], heldBack: ['b'] }, /held back as well/],
  ] as [NonNullable<PairingCriteriaInput['locks']>, RegExp][])('contradictory locks %j', (locks, reason) => {
    const { code, places } = refusalOf(() => pairCells(lot, criteria({ locks })));
    expect(code).toBe('cannot-pair');
    expect(places.map((place) => place.reason).join()).toMatch(reason);
  });

  test('a locked pair with a warning sign', () => {
    const cells = [...lot, { ...cell('w', 2.5, 0.02), warningSign: 'swollen' }];
    const refusal = refusalOf(() => pairCells(cells, criteria({ locks: { together: [['a', 'w']] } })));
    expect(refusal.places[0].reason).toBe('w has a warning sign: swollen');
  });

  test('a tolerance of zero, written or by percent of a median of zero', () => {
    const zero = refusalOf(() =>
      criteria({
        features: [{ name: 'q', quantity: 'capacity', tolerance: { kind: 'absolute', value: 0 } }],
      }),
    );
    expect(zero).toMatchObject({ code: 'invalid-request' });
    expect(zero.places[0]).toMatchObject({ field: 'features.0.tolerance.value', value: '0' });
    const cells = ['a', 'b', 'c'].map((name) => ({
      ...cell(name, 0, 0),
      values: [0],
      standardUncertainties: [null],
    }));
    const percent = criteria({
      features: [{ name: 'drift', quantity: 'other', tolerance: { kind: 'percent', value: 5 } }],
    });
    expect(refusalOf(() => pairCells(cells, percent)).places[0]).toMatchObject({
      field: 'features.0.tolerance',
      reason: '5 percent of a median of 0 is zero',
    });
  });

  test('criteria with an unknown field, a repeated name or no importance', () => {
    expect(refusalOf(() => criteria({ weight: 3 } as never)).message).toMatch(/weight/);
    const feature = {
      name: 'q',
      quantity: 'capacity' as const,
      tolerance: { kind: 'percent' as const, value: 1 },
    };
    expect(refusalOf(() => criteria({ features: [feature, feature] })).message).toMatch(
      /two features are named "q"/,
    );
    expect(refusalOf(() => criteria({ features: [{ ...feature, importance: 0 }] })).message).toMatch(
      /importance/,
    );
  });
});
