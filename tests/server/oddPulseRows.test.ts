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
    { durationS: 120, currentA: 0 },
    { durationS: 10, currentA: 2 },
    { durationS: 300, currentA: 0 },
  ],
  intervalS: 0.1,
  phase: 'any',
  noiseV: 2e-4,
  noiseA: 2e-4,
};

/** A record with the rows of the first pulse's edges found: rows that `change` may alter. */
function recordWith(
  more: Partial<SimulatedBench>,
  change: (record: SimulatedRecord, edge: number) => void = () => undefined,
): SimulatedRecord {
  const random = seededRandom(7);
  const record = simulatedRecord({ ...bench, ...more }, random, normalSource(random));
  change(
    record,
    record.currentA.findIndex((current) => current < -1),
  );
  return record;
}

const without = (
  { timeS, voltageV, currentA }: SimulatedRecord,
  from: number,
  to: number,
): SimulatedRecord => {
  const kept = (values: Float64Array): Float64Array => values.filter((_, row) => row < from || row >= to);
  return { timeS: kept(timeS), voltageV: kept(voltageV), currentA: kept(currentA) };
};

/** Unmarked values farther than this many of their standard uncertainties from the truth. */
function misses({ pulses }: EvaluatedPulseRecord, cell = bench.cell): string[] {
  return pulses.flatMap((pulse, index) => {
    const values: [string, number | null, number | null, number][] = pulse.resistances.map(
      ({ durationS, valueOhm, standardUncertaintyOhm }) => [
        `R(${durationS} s)`,
        valueOhm,
        standardUncertaintyOhm,
        stepResponse(cell, durationS),
      ],
    );
    const { circuit } = pulse;
    if (circuit?.branches === 2 && circuit.fitVerdict?.code === 'adequate') {
      const [quick, slow] = cell.branches;
      values.push(['r0', circuit.r0Ohm, circuit.r0StandardErrorOhm, cell.r0Ohm]);
      values.push(['r1', circuit.r1Ohm, circuit.r1StandardErrorOhm, quick.rOhm]);
      values.push(['r2', circuit.r2Ohm, circuit.r2StandardErrorOhm, slow.rOhm]);
      values.push(['tau2', circuit.tau2S, circuit.tau2StandardErrorS, slow.tauS]);
    }
    return values.flatMap(([name, value, uncertainty, truth]) =>
      value === null || uncertainty === null || Math.abs(value - truth) <= 3.5 * uncertainty
        ? []
        : [`pulse ${index}, ${name}: ${value} ± ${uncertainty}, truth ${truth}`],
    );
  });
}

describe('a pulse record with odd rows', () => {
  const edgeEnd = 100;
  it.each([
    ['in the rest', (edge: number) => edge - 200],
    ['before the pulse', (edge: number) => edge - 1],
    ['at the edge', (edge: number) => edge],
    ['in the pulse', (edge: number) => edge + 50],
    ['in the relaxation', (edge: number) => edge + edgeEnd + 3],
  ])('leaves out a single voltage of 0 V %s, and says which', async (_, rowAt) => {
    let row = -1;
    const record = recordWith({}, ({ voltageV }, edge) => {
      row = rowAt(edge);
      voltageV[row] = 0;
    });
    const result = await evaluatedPulses(record);
    expect(result.warnings).toContainEqual(expect.objectContaining({ code: 'voltage-spike', row }));
    expect(result.pulses.map((pulse) => pulse.circuit?.branches)).toEqual([2, 2]);
    expect(misses(result)).toEqual([]);
    // Rows are those of the file.
    expect(result.record.rows).toBe(record.timeS.length);
    expect(result.steps.at(-1)?.lastRow).toBe(record.timeS.length - 1);
  });

  it.each([
    ['at the edge', (edge: number) => edge],
    ['in the pulse', (edge: number) => edge + 50],
  ])('leaves out a single current of the wrong sign %s', async (_, rowAt) => {
    const result = await evaluatedPulses(
      recordWith({}, ({ currentA }, edge) => {
        currentA[rowAt(edge)] *= -1;
      }),
    );
    expect(result.warnings.map(({ code }) => code)).toContain('current-spike');
    expect(result.pulses).toHaveLength(2);
    expect(misses(result)).toEqual([]);
  });

  it('does not take the rows beside a hole for the moment of the edge', async () => {
    const full = recordWith({ intervalS: 1 });
    const edge = full.currentA.findIndex((current) => current < -1);
    for (const [from, to] of [
      [edge, edge + 2],
      [edge - 2, edge],
      [edge + 10, edge + 13],
    ]) {
      const result = await evaluatedPulses(without(full, from, to));
      expect(result.pulses).toHaveLength(2);
      expect(misses(result)).toEqual([]);
    }
  });

  it('counts the step of a clock that gives several rows one stamp', async () => {
    const record = recordWith({}, ({ timeS }) => {
      timeS.forEach((time, row) => {
        timeS[row] = Math.floor(time);
      });
    });
    const { pulses } = await evaluatedPulses(record);
    expect(pulses[0].resistances.find(({ durationS }) => durationS === 1)?.reason).toBe(
      'sampling-too-coarse',
    );
    expect(misses({ pulses } as EvaluatedPulseRecord)).toEqual([]);
  });

  it('does not state a resistance by a circuit that misses the first rows', async () => {
    const cell = { ...bench.cell, branches: [{ rOhm: 0.025, tauS: 0.55 }] };
    const result = await evaluatedPulses(recordWith({ cell, intervalS: 1 }));
    expect(misses(result, cell)).toEqual([]);
    expect(result.pulses.map((pulse) => pulse.circuit?.fitVerdict?.code)).not.toContain('adequate');
  });
});

describe('a current that passes its level at the edge', () => {
  it.each([0.1, 0.5, 1])('is one pulse with its R(10 s), rows every %d s', async (intervalS) => {
    const overshoot = { share: 0.08, lastsS: 0.4 * intervalS };
    const result = await evaluatedPulses(recordWith({ intervalS, phase: 0.9, overshoot }));
    expect(result.pulses).toHaveLength(2);
    for (const pulse of result.pulses) {
      expect(pulse.resistances.find(({ durationS }) => durationS === 10)?.valueOhm).toBeCloseTo(
        stepResponse(bench.cell, 10),
        3,
      );
    }
    expect(misses(result)).toEqual([]);
  });
});

describe('a pulse of one row', () => {
  it('has no resistance at a duration that its row does not lie at', async () => {
    const record = recordWith({
      intervalS: 0.5,
      phase: 0,
      programme: [
        { durationS: 60, currentA: 0 },
        { durationS: 0.5, currentA: -2.5 },
        { durationS: 60, currentA: 0 },
      ],
    });
    const [pulse] = (await evaluatedPulses(record)).pulses;
    expect(pulse.resistances.filter(({ valueOhm }) => valueOhm !== null)).toEqual([]);
    expect(pulse.resistances.map(({ reason }) => reason)).toContain('sampling-too-coarse');
  });
});
