import { describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import type { EvaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';
import { evaluatedPulses } from '../support/evaluatedPulses.ts';
import {
  type SimulatedBench,
  type SimulatedRecord,
  simulatedRecord,
  stepResponse,
} from '../support/simulatedPulses.ts';

const bench: SimulatedBench = {
  cell: {
    r0Ohm: 0.03,
    branches: [
      { rOhm: 0.015, tauS: 5 },
      { rOhm: 0.02, tauS: 60 },
    ],
    ocvV: 3.7,
    slopeVPerAs: 0,
  },
  programme: [
    { durationS: 60, currentA: 0 },
    { durationS: 10, currentA: -2.5 },
    { durationS: 60, currentA: 0 },
    { durationS: 10, currentA: 2 },
    { durationS: 120, currentA: 0 },
  ],
  intervalS: 0.1,
  phase: 'any',
  noiseV: 2e-4,
  noiseA: 2e-4,
  stepV: 1e-4,
  stepA: 1e-4,
};
const seeds = [1, 2, 3, 4, 5, 6];

type Change = (record: SimulatedRecord) => Partial<SimulatedRecord>;

/** What `gemel evaluate pulse FILE --json` prints of a simulated record that was changed. */
async function evaluated(
  seed: number,
  change: Change,
  more: Partial<SimulatedBench> = {},
): Promise<EvaluatedPulseRecord> {
  const random = seededRandom(seed);
  const record = simulatedRecord({ ...bench, ...more }, random, normalSource(random));
  return evaluatedPulses({ ...record, ...change(record) });
}

/** Values of R(t) and, of adequate circuits, of R0 and R2, in standard uncertainties from the truth; marked ones are left out. */
function distances({ pulses }: EvaluatedPulseRecord): { name: string; z: number }[] {
  const [, slow] = bench.cell.branches;
  return pulses.flatMap(({ resistances, circuit }) => {
    const ofTime = resistances.flatMap(({ durationS, valueOhm, standardUncertaintyOhm, conditional }) =>
      valueOhm === null || standardUncertaintyOhm === null || conditional !== null
        ? []
        : [
            {
              name: `R(${durationS} s)`,
              z: (valueOhm - stepResponse(bench.cell, durationS)) / standardUncertaintyOhm,
            },
          ],
    );
    if (circuit?.fitVerdict?.code !== 'adequate' || circuit.branches !== 2) return ofTime;
    const marked = circuit.conditional.map(({ parameter }) => parameter);
    const ofCircuit = [
      { name: 'r0Ohm', value: circuit.r0Ohm, u: circuit.r0StandardErrorOhm, truth: bench.cell.r0Ohm },
      { name: 'r2Ohm', value: circuit.r2Ohm, u: circuit.r2StandardErrorOhm, truth: slow.rOhm },
    ].filter(({ name }) => !marked.includes(name));
    return [
      ...ofTime,
      ...ofCircuit.map(({ name, value, u, truth }) => ({ name, z: ((value ?? 0) - truth) / (u ?? 0) })),
    ];
  });
}

/** Every unmarked value lies within 3.5 standard uncertainties of the truth, and so does R(10 s) of every pulse, marked or not. */
function expectTrue(results: readonly EvaluatedPulseRecord[], pulses = 2): void {
  expect(results.flatMap(distances).filter(({ z }) => !(Math.abs(z) <= 3.5))).toEqual([]);
  const at10S = results.flatMap((one) => one.pulses.map(({ resistances }) => resistances)).flat();
  const values = at10S.filter(({ durationS, valueOhm }) => durationS === 10 && valueOhm !== null);
  expect(values).toHaveLength(pulses * results.length);
  for (const { valueOhm, standardUncertaintyOhm } of values) {
    const away = Math.abs((valueOhm ?? 0) - stepResponse(bench.cell, 10));
    expect(away).toBeLessThan(3.5 * (standardUncertaintyOhm ?? 0));
  }
}

const every = async (change: Change, more: Partial<SimulatedBench> = {}): Promise<EvaluatedPulseRecord[]> => {
  const results: EvaluatedPulseRecord[] = [];
  for (const seed of seeds) results.push(await evaluated(seed, change, more));
  return results;
};

/** A column that is renewed only at every n-th row, a row before the edges of the programme. */
const held = (values: Float64Array, rows: number): Float64Array =>
  values.map((_, row) => values[Math.max(0, row - ((row + 1) % rows))]);

describe('channels of a pulse record that are out of step', () => {
  it('reads no voltage beside a current that is held for some rows', async () => {
    const results = await every(({ currentA }) => ({ currentA: held(currentA, 4) }));
    expectTrue(results);
    for (const { warnings, pulses } of results) {
      expect(warnings.map(({ code }) => code)).toContain('readings-repeated');
      const at10S = pulses[0].resistances.find(({ durationS }) => durationS === 10);
      expect(at10S?.valueOhm ?? 0).toBeGreaterThan(0.044);
    }
  });

  it('does so where the current has no noise that would show it', async () => {
    const results = await every(({ currentA }) => ({ currentA: held(currentA, 4) }), { noiseA: 0, stepA: 0 });
    expectTrue(results);
    for (const { warnings } of results)
      expect(warnings.map(({ code }) => code)).toContain('current-column-late');
  });

  it('counts rows that repeat an earlier reading of both channels as none', async () => {
    const results = await every(({ currentA, voltageV }) => ({
      currentA: held(currentA, 5),
      voltageV: held(voltageV, 5),
    }));
    expectTrue(results);
    for (const { warnings, record } of results) {
      expect(warnings.map(({ code }) => code)).toContain('readings-repeated');
      expect(record.rows).toBeGreaterThan(2500);
    }
  });

  it('leaves all rows of a record in, whose readings flip or stay by themselves', async () => {
    for (const stepV of [1e-4, 1e-3, 5e-3]) {
      const { warnings } = await evaluated(3, () => ({}), { stepV, stepA: 1e-3 });
      expect(warnings.map(({ code }) => code)).not.toContain('readings-repeated');
      expect(warnings.map(({ code }) => code)).not.toContain('current-column-late');
    }
  });

  it('holds the truth where the voltage is late by a part of a row and two pulses do not tell by how much', async () => {
    const late: Change = ({ timeS, voltageV }) => {
      const seen = voltageV.slice();
      for (let row = 1; row < seen.length; row++) {
        const keep = Math.exp(-(timeS[row] - timeS[row - 1]) / 0.09);
        seen[row] = keep * seen[row - 1] + (1 - keep) * voltageV[row - 1];
      }
      return { voltageV: seen };
    };
    expectTrue(await every(late, { phase: 0.01 }));
  });

  it('holds the truth of the slow branch where the voltage drifts less than its rest shows', async () => {
    const drift =
      (perMinuteV: number): Change =>
      ({ timeS, voltageV }) => ({
        voltageV: voltageV.map(
          (voltage, row) => 1e-4 * Math.round(1e4 * (voltage + (perMinuteV * timeS[row]) / 60)),
        ),
      });
    const programme = [
      { durationS: 30, currentA: 0 },
      { durationS: 10, currentA: -0.5 },
      { durationS: 120, currentA: 0 },
    ];
    for (const rate of [2e-4, -2e-4]) expectTrue(await every(drift(rate), { programme }), 1);
  });

  it('allows for the step of a current that never flips between two readings', async () => {
    const step = 0.04425;
    const results = await every(
      ({ currentA }) => ({ currentA: currentA.map((current) => step * Math.round(current / step)) }),
      { noiseA: 0, stepA: 0 },
    );
    expectTrue(results);
  });
});
