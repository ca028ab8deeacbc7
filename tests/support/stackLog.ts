import { lumpedTemperatureC } from '../../fitting/charging/heat.ts';
import { scaleCell, UNCHANGED } from '../../fitting/charging/scaleCell.ts';
import { simulateCharge } from '../../fitting/charging/simulateCharge.ts';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { chargeSetupOf } from '../../server/assess/charging/chargeSetupOf.ts';
import { type ChargeStudyDescription, chargeStudyDescription } from '../../server/contract/chargeStudy.ts';

/** What the stack of a log really is, beside its study. */
export interface StackTruth {
  readonly startSoc: readonly number[];
  readonly r0Factor: readonly number[];
  readonly stackOhm: number;
  readonly converterOhm: number;
  readonly fixedLossA: number;
}

/** How the bench writes its log. */
export interface BenchTruth {
  readonly seed: number;
  /** Seed of another log that the same meters wrote, with the same offsets; meters of its own where left out. */
  readonly metersOf?: number;
  readonly leadS: number;
  /** Share of a second by which the charge begins before a row. */
  readonly beginsBefore: number;
  readonly voltageNoiseV: number;
  readonly voltageStepV: number;
  readonly voltageOffsetV: number;
  readonly currentNoiseA: number;
  readonly currentStepA: number;
  readonly currentOffsetA: number;
  /** Gain error of the current channel, relative. */
  readonly currentGain: number;
}

const soc = Array.from({ length: 21 }, (_, i) => i / 20);

/** A cell of 3 Ah with a curve of our own: two branches, no heat. */
const cell = (name: string) => ({
  name,
  capacityAh: 3,
  soc,
  ocvV: soc.map(
    (z) => 3.3 + 0.25 * (1 - Math.exp(-12 * z)) + 0.35 * z + 0.25 * z * z + 0.04 * Math.tanh((z - 0.55) * 12),
  ),
  ocvInterpolation: 'pchip' as const,
  r0Ohm: soc.map((z) => 0.028 * (1 + 0.25 * Math.exp(-6 * z))),
  branches: [
    { rOhm: 0.008, tauS: 8 },
    { rOhm: 0.012, tauS: 300 },
  ],
  startSoc: 0.1,
  datasheet: { maxVoltageV: 4.2, maxChargeCurrentA: 3 },
});

/** The study of the stack that the logs here are of. */
export function logStudy(): ChargeStudyDescription {
  return chargeStudyDescription.parse({
    schemaVersion: 1,
    cells: [cell('A'), cell('B')],
    stack: { ambientTemperatureC: 25 },
    phases: { stages: [{ currentA: 3 }], end: { currentA: 0.15 }, restAfterS: 120 },
    converter: { ratioStage: { ratio: 2, maxPathCurrentA: 6 } },
  });
}

export const usualTruth: StackTruth = {
  startSoc: [0.12, 0.1],
  r0Factor: [1, 1.25],
  stackOhm: 0.004,
  converterOhm: 0.011,
  fixedLossA: 0.02,
};

/** A bench with noise, resolution and offsets drawn from the seed. */
export function usualBench(seed: number): BenchTruth {
  const random = seededRandom(seed);
  return {
    seed,
    leadS: 60,
    beginsBefore: random(),
    voltageNoiseV: 0.0003,
    voltageStepV: 0.0005,
    voltageOffsetV: 0.001,
    currentNoiseA: 0.002,
    currentStepA: 0.001,
    currentOffsetA: 0.005,
    currentGain: 0,
  };
}

/** The rows of a log at 1 s, without its header. Columns as in {@link logHeader}. */
export function stackLogRows(truth: StackTruth, bench: BenchTruth, study = logStudy()): number[][] {
  const normal = normalSource(seededRandom(bench.seed + 1000));
  const { setup } = chargeSetupOf({ ...study, converter: undefined });
  const cells = setup.cells.map((charged, k) => ({
    ...charged,
    startSoc: truth.startSoc[k],
    cell: scaleCell(charged.cell, { ...UNCHANGED, r0: truth.r0Factor[k] }),
  }));
  const { series } = simulateCharge({ ...setup, cells, seriesStepS: 1 });
  if (series === null) throw new Error('the charge has no series');
  const rest = cells.map(({ cell: model, startSoc }) => {
    const out = new Float64Array(model.stride);
    model.evaluate(startSoc, 25, model.socStretch(startSoc), 0, out, 0);
    return out[0];
  });
  const meters = bench.metersOf === undefined ? normal : normalSource(seededRandom(bench.metersOf + 1000));
  const offsets = cells.map(() => meters() * bench.voltageOffsetV);
  const currentOffset = meters() * bench.currentOffsetA;
  const written = (value: number, noise: number, step: number): number =>
    Number((Math.round((value + normal() * noise) / step) * step).toFixed(6));
  const rows: number[][] = [];
  for (let t = 0; t < series.timeS.length + bench.leadS - 2; t++) {
    const x = t - bench.leadS + bench.beginsBefore;
    const current = x < 0 ? 0 : between(series.currentA, x);
    const voltages = rest.map((ocv, k) => (x < 0 ? ocv : between(series.cells[k].voltageV, x)));
    const stackV = voltages[0] + voltages[1] + truth.stackOhm * current;
    const volt = (value: number) => written(value, bench.voltageNoiseV, bench.voltageStepV);
    const ampere = (value: number) => written(value, bench.currentNoiseA, bench.currentStepA);
    rows.push([
      t,
      ...voltages.map((value, k) => volt(value + offsets[k])),
      ampere((1 + bench.currentGain) * current + currentOffset),
      volt(stackV),
      volt(2 * (stackV + truth.converterOhm * current)),
      ampere(current / 2 + (x < 0 ? 0 : truth.fixedLossA)),
    ]);
  }
  return rows;
}

export const logHeader = 'Time (s),V cell 1 (V),V cell 2 (V),I stack (A),V stack (V),V in (V),I in (A)';

/** What lies behind the temperatures of a log. */
export interface HeatTruth {
  readonly heatCapacityJPerK: number;
  readonly heatTransferWPerK: number;
  readonly seed: number;
}

export const heatHeader = `${logHeader},T cell 1 (°C),T cell 2 (°C),Ambient (°C)`;

/** Rows of a log with the temperatures of its cells behind them: 50 mK noise, read to 0.1 K, surroundings at 25 °C. */
export function withTemperatures(
  rows: readonly (readonly number[])[],
  { startSoc }: Pick<StackTruth, 'startSoc'>,
  heat: HeatTruth,
  { cells }: ChargeStudyDescription,
): number[][] {
  const normal = normalSource(seededRandom(heat.seed));
  const temperature = cells.map(() => 25);
  let charged = 0;
  return rows.map((row, r) => {
    const current = row[3];
    const dt = r === 0 ? 0 : row[0] - rows[r - 1][0];
    charged += (current * dt) / 3600;
    cells.forEach(({ soc, ocvV, capacityAh }, k) => {
      const at = Math.max(startSoc[k] + charged / capacityAh, soc[0]);
      const low = Math.min(Math.max(soc.findIndex((z) => z > at) - 1, 0), soc.length - 2);
      const [first, next] = [low, low + 1].map((i) => Number([ocvV].flat(2)[i]));
      const ocv = first + ((next - first) * (at - soc[low])) / (soc[low + 1] - soc[low]);
      temperature[k] = lumpedTemperatureC(heat, current * (row[1 + k] - ocv), 25, temperature[k], dt);
    });
    return [...row, ...temperature.map((t) => Number((t + 0.05 * normal()).toFixed(1))), 25];
  });
}

/** The log as a bench writes it. */
export function stackLogText(rows: readonly (readonly number[])[], header = logHeader): string {
  return `${header}\n${rows.map((row) => row.join(',')).join('\n')}\n`;
}

function between(values: ArrayLike<number>, at: number): number {
  const low = Math.min(Math.floor(at), values.length - 2);
  return values[low] + (values[low + 1] - values[low]) * (at - low);
}
