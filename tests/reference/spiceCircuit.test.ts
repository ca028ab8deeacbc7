import { describe, expect, it } from 'vitest';
import { simulateCharge } from '../../fitting/charging/simulateCharge.ts';
import type { ChargeCellDescription } from '../../server/contract/chargeStudy.ts';
import { type CircuitSubject, circuitSubjectOf } from '../../server/export/circuitSubject.ts';
import { spiceNumber } from '../../server/export/spiceCell.ts';
import { spiceNames, spiceSubcircuit } from '../../server/export/spiceSubcircuit.ts';
import { spiceTestBench } from '../../server/export/spiceTestBench.ts';
import { stackFixture } from '../server/exportFixture.ts';
import { isMissing } from '../support/required.ts';
import { chargeSetup, ngspicePresent, runNgspice, type SpiceRun, vectorAt } from './spiceSupport.ts';

const missing = isMissing('ngspice', ngspicePresent, 'apt-get install ngspice');

/** A deck that drives a cell with a current of straight pieces (times and amperes, positive on charge). */
function currentDeck(
  subject: CircuitSubject,
  points: readonly (readonly [number, number])[],
  maxStepS: number,
): string {
  const end = points[points.length - 1][0];
  const pieces = points.map(([t, i]) => `${spiceNumber(t)} ${spiceNumber(i)}`);
  return [
    '* pulse train',
    spiceSubcircuit(subject),
    `x1 pos 0 soc1 tcell1 ${spiceNames(subject).cells[0]}`,
    'ipulse 0 pos pwl(',
    ...pieces.map((piece) => `+ ${piece}`),
    '+ )',
    '.options reltol=1e-6 abstol=1e-9 vntol=1e-8 method=gear',
    `.tran ${spiceNumber(maxStepS)} ${spiceNumber(end)} 0 ${spiceNumber(maxStepS)} uic`,
    '.end',
  ].join('\n');
}

function alone(cell: ChargeCellDescription): CircuitSubject {
  return { title: cell.name, cells: [cell], notes: [[]], cautions: [], provenance: [] };
}

/** Pulses as stages of a charge: current and duration in turn; 1 nA stands for a rest. */
const train: readonly (readonly [number, number])[] = [1, 2, 3, 4, 5, 6, 7, 8].flatMap((k) => [
  [0.5 * k, 10.25],
  [1e-9, 20],
]);

function pulsePoints(): [number, number][] {
  const points: [number, number][] = [];
  let t = 0;
  for (const [currentA, durationS] of train) {
    points.push([points.length === 0 ? 0 : t + 1e-6, currentA], [t + durationS, currentA]);
    t += durationS;
  }
  return points;
}

function largestDifference(
  run: SpiceRun,
  vector: string,
  timeS: ArrayLike<number>,
  values: ArrayLike<number>,
): number {
  let largest = 0;
  for (let i = 1; i < timeS.length; i++)
    largest = Math.max(largest, Math.abs(vectorAt(run, vector, timeS[i]) - values[i]));
  return largest;
}

describe.skipIf(missing)('the SPICE subcircuit in the real ngspice', () => {
  it('gives the published voltages of a 2 A discharge pulse', () => {
    // Reference values: the solution in closed form, which ngspice 39 gives too.
    const cell: ChargeCellDescription = {
      name: 'reference',
      capacityAh: 2.5,
      soc: [0, 0.1, 0.5, 0.9, 1],
      ocvV: [3, 3.45, 3.7, 4.05, 4.2],
      ocvInterpolation: 'linear',
      r0Ohm: 0.03,
      branches: [
        { rOhm: 0.015, tauS: 5 },
        { rOhm: 0.02, tauS: 60 },
      ],
      startSoc: 0.9,
      datasheet: { maxVoltageV: 4.2, maxChargeCurrentA: 2.5, defaults: false },
    };
    const points = [
      [0, 0],
      [1, 0],
      [1 + 1e-6, -2],
      [31, -2],
      [31 + 1e-6, 0],
      [60, 0],
    ] as const;
    const run = runNgspice(currentDeck(alone(cell), points, 0.05), ['v(pos)', 'v(soc1)']);
    for (const [timeS, voltageV] of [
      [2, 3.983706],
      [11, 3.955975],
      [30.99, 3.938508],
      [60, 4.03437],
    ])
      expect(Math.abs(vectorAt(run, 'v(pos)', timeS) - voltageV)).toBeLessThan(5e-6);
    expect(vectorAt(run, 'v(soc1)', 60)).toBeCloseTo(0.893333, 6);
  });

  it('stays within 0.1 mV of the simulation over a pulse train', () => {
    const subject = circuitSubjectOf(stackFixture());
    const cell = { ...subject.cells[0], name: 'a', startSoc: 0.42 };
    const stages = train.map(([currentA, durationS]) => ({
      currentA,
      until: { soc: null, cellVoltageV: null, temperatureC: null, durationS },
    }));
    const total = train.reduce((sum, [, durationS]) => sum + durationS, 0);
    const ours = simulateCharge(
      chargeSetup([cell], stages, { endCurrentA: 1e-12, seriesStepS: 0.5, maxDurationS: total }),
    );
    const run = runNgspice(currentDeck(alone(cell), pulsePoints(), 0.05), ['v(pos)', 'v(tcell1)']);
    const series = ours.series;
    if (series === null) throw new Error('no series');
    expect(series.timeS.length).toBeGreaterThan(450);
    // A row at the very instant of a switch belongs to either side of it.
    const edges = pulsePoints().map(([t]) => t);
    const kept = [...series.timeS.keys()].filter((i) =>
      edges.every((t) => Math.abs(t - series.timeS[i]) > 1e-3),
    );
    const pick = (values: ArrayLike<number>) => kept.map((i) => values[i]);
    const swing = Math.max(...series.cells[0].voltageV) - Math.min(...series.cells[0].voltageV);
    expect(swing).toBeGreaterThan(0.1);
    expect(largestDifference(run, 'v(pos)', pick(series.timeS), pick(series.cells[0].voltageV))).toBeLessThan(
      1e-4,
    );
    expect(
      largestDifference(run, 'v(tcell1)', pick(series.timeS), pick(series.cells[0].temperatureC)),
    ).toBeLessThan(1e-3);
  });

  it('stays within 0.1 mV of the simulation over the whole charge of a mismatched pair and switches within 0.1 s', () => {
    const subject = circuitSubjectOf(stackFixture());
    const cells = subject.cells.map((cell, i) => ({ ...cell, startSoc: [0.15, 0.1][i] }));
    const stages = [{ currentA: 2.2, until: null }];
    const ours = simulateCharge(chargeSetup(cells, stages, { endCurrentA: 0.11, seriesStepS: 10 }));
    const deck = spiceTestBench(
      { ...subject, cells },
      { currentA: 2.2, cellVoltageLimitsV: [4.2, 4.2], endCurrentA: 0.11, maxDurationS: ours.endTimeS + 60 },
    );
    const run = runNgspice(deck, ['v(tap1)', 'v(pos)', 'v(soc1)', 'i(vcharge)']);
    const { series } = ours;
    if (series === null) throw new Error('no series');
    expect(ours.endReason).toBe('end-current');
    expect(ours.phases.map((phase) => phase.kind)).toEqual(['constant-current', 'constant-voltage']);
    expect(largestDifference(run, 'v(tap1)', series.timeS, series.cells[0].voltageV)).toBeLessThan(1e-4);
    expect(largestDifference(run, 'v(pos)', series.timeS, series.stackVoltageV)).toBeLessThan(1e-4);
    expect(largestDifference(run, 'v(soc1)', series.timeS, series.cells[0].soc)).toBeLessThan(1e-5);
    expect(Math.abs((run.measured.get('switch_s') ?? 0) - ours.phases[1].startTimeS)).toBeLessThan(0.1);
    expect(Math.abs((run.measured.get('end_s') ?? 0) - ours.endTimeS)).toBeLessThan(0.5);
  });

  it('reads tables over SOC and temperature, an Arrhenius law and reversible heat as the simulation does', () => {
    const soc = [0, 0.3, 0.7, 1];
    const base: ChargeCellDescription = {
      name: 'warm',
      capacityAh: 2,
      soc,
      temperatureC: [0, 20, 40],
      ocvV: [3.1, 3.6, 3.9, 4.2],
      ocvInterpolation: 'linear',
      r0Ohm: soc.map((z) => [0.09 - 0.02 * z, 0.05 - 0.01 * z, 0.03]),
      branches: [
        { rOhm: soc.map((z) => [0.04, 0.02 + 0.005 * z, 0.012]), tauS: soc.map(() => [30, 20, 15]) },
      ],
      entropicVPerK: [-2e-4, 0, 1e-4, 2e-4],
      thermal: { heatCapacityJPerK: 20, heatTransferWPerK: 0.06, basis: 'entered' },
      startSoc: 0.1,
      startTemperatureC: 10,
      datasheet: { maxVoltageV: 4.15, maxChargeCurrentA: 4, defaults: false },
    };
    const { temperatureC: _, ...flatBase } = base;
    const arrhenius: ChargeCellDescription = {
      ...flatBase,
      r0Ohm: [0.07, 0.06, 0.05, 0.05],
      branches: [{ rOhm: 0.03, tauS: 25 }],
      arrhenius: { activationEnergyJPerMol: 24_000, referenceTemperatureC: 25, branchesToo: true },
    };
    for (const cell of [base, arrhenius]) {
      const ours = simulateCharge(
        chargeSetup([cell], [{ currentA: 3, until: null }], { endCurrentA: 0.1, seriesStepS: 5 }),
      );
      const deck = spiceTestBench(alone(cell), {
        currentA: 3,
        cellVoltageLimitsV: [4.15],
        endCurrentA: 0.1,
        maxDurationS: ours.endTimeS + 10,
        maxStepS: 0.5,
      });
      const run = runNgspice(deck, ['v(pos)', 'v(tcell1)', 'v(soc1)']);
      const { series } = ours;
      if (series === null) throw new Error('no series');
      expect(Math.max(...series.cells[0].temperatureC)).toBeGreaterThan(20);
      expect(largestDifference(run, 'v(pos)', series.timeS, series.cells[0].voltageV)).toBeLessThan(1e-4);
      expect(largestDifference(run, 'v(tcell1)', series.timeS, series.cells[0].temperatureC)).toBeLessThan(
        5e-3,
      );
    }
  });

  it('holds edge values outside the tables, while the open-circuit voltage goes on with its last slope', () => {
    const cell: ChargeCellDescription = {
      name: 'edge',
      capacityAh: 0.01,
      soc: [0.2, 0.5, 0.8],
      ocvV: [3.5, 3.7, 4],
      ocvInterpolation: 'linear',
      r0Ohm: [0.05, 0.04, 0.03],
      branches: [],
      startSoc: 0.79,
      datasheet: { maxVoltageV: 4.2, maxChargeCurrentA: 1, defaults: false },
    };
    // 1 A for 3.96 s moves a 10 mAh cell by 0.11: to SOC 0.9, 0.1 beyond the table.
    const run = runNgspice(
      currentDeck(
        alone(cell),
        [
          [0, 1],
          [3.96, 1],
        ],
        0.01,
      ),
      ['v(pos)', 'v(soc1)'],
    );
    expect(vectorAt(run, 'v(soc1)', 3.96)).toBeCloseTo(0.9, 6);
    expect(vectorAt(run, 'v(pos)', 3.96)).toBeCloseTo(4 + (0.3 / 0.3) * 0.1 + 0.03, 6);
  });
});
