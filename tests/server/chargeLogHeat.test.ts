import { beforeAll, describe, expect, it } from 'vitest';
import { fitLogHeat, type HeatedLog } from '../../fitting/charge-log/heatFit.ts';
import { lumpedTemperatureC } from '../../fitting/charging/heat.ts';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { evaluateChargeLogs } from '../../server/assess/charge-log/evaluateChargeLogs.ts';
import type { ChargeLogResult } from '../../server/contract/chargeLogResult.ts';
import { type ChargeStudyDescription, chargeStudyDescription } from '../../server/contract/chargeStudy.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { readChargeLog } from '../../server/import/chargeLogTable.ts';
import { readTable } from '../../server/import/readTableFile.ts';
import {
  heatHeader,
  logStudy,
  stackLogRows,
  stackLogText,
  usualBench,
  usualTruth,
  withTemperatures,
} from '../support/stackLog.ts';

const TRUE_C = 48;
const TRUE_K = 0.12;
const AMBIENT_C = 24;
const STEP_S = 20;

/** A log at 20 s: heat while charging, then rest; a thermometer with 50 mK noise, read to 0.1 K. */
function heated(seed: number, restS = 1800, heatError = 0, ambientError = 0): HeatedLog {
  const normal = normalSource(seededRandom(seed));
  const timeS = Float64Array.from({ length: (3600 + restS) / STEP_S }, (_, k) => STEP_S * k);
  const heat = timeS.map((t) => (t < 2400 ? 1.1 : t < 3600 ? 1.1 * Math.exp(-(t - 2400) / 500) : 0));
  let true0 = AMBIENT_C + 0.3;
  const temperatureC = timeS.map((_, k) => {
    if (k > 0)
      true0 = lumpedTemperatureC(
        { heatCapacityJPerK: TRUE_C, heatTransferWPerK: TRUE_K },
        (heat[k] + heat[k - 1]) / 2,
        AMBIENT_C + ambientError * 0.5 * normal0(seed),
        true0,
        STEP_S,
      );
    return Math.round((true0 + 0.05 * normal()) * 10) / 10;
  });
  const off = 1 + heatError * normal1(seed);
  return { timeS, temperatureC, heatW: heat.map((value) => value * off), ambientC: AMBIENT_C };
}
const normal0 = (seed: number): number => normalSource(seededRandom(seed + 5000))();
const normal1 = (seed: number): number => normalSource(seededRandom(seed + 9000))();

describe('heat capacity and transfer of a cell from its charge', () => {
  it('have intervals that hold the truth in 92 to 98 % of logs, with errors of heat and surroundings', () => {
    const cases = 200;
    let [capacity, transfer] = [0, 0];
    for (let seed = 1; seed <= cases; seed++) {
      const found = fitLogHeat([heated(seed, 1800, 0.04, 1)], { ambientK: 0.5, heatShare: 0.04 });
      const holds = ({ value, standardError }: typeof found.heatCapacityJPerK, truth: number) =>
        Math.abs((value ?? Number.NaN) - truth) < 1.96 * (standardError ?? 0) ? 1 : 0;
      capacity += holds(found.heatCapacityJPerK, TRUE_C);
      transfer += holds(found.heatTransferWPerK, TRUE_K);
    }
    for (const covered of [capacity, transfer]) {
      expect(covered / cases).toBeGreaterThanOrEqual(0.92);
      expect(covered / cases).toBeLessThanOrEqual(0.985);
    }
  });

  it('are not given where the cell hardly warms, and cannot be told apart in a short log without rest, read to whole degrees', () => {
    const cool = heated(1);
    const flat = { ...cool, temperatureC: cool.temperatureC.map(() => 24.1) };
    expect(fitLogHeat([flat], { ambientK: 0.5, heatShare: 0.04 }).heatCapacityJPerK).toEqual({
      value: null,
      standardError: null,
      reason: 'too-little-warming',
    });
    const short = heated(2);
    const cut = (values: Float64Array): Float64Array => values.slice(0, 9);
    const found = fitLogHeat(
      [
        {
          ...short,
          timeS: cut(short.timeS),
          temperatureC: cut(short.temperatureC.map(Math.round)),
          heatW: cut(short.heatW),
        },
      ],
      { ambientK: 2, heatShare: 0.04 },
    );
    expect(found.heatTransferWPerK).toMatchObject({ value: null, reason: 'not-separable' });
  });
});

describe('a fit of a whole log with its heat', () => {
  let result: ChargeLogResult;
  let study: ChargeStudyDescription;
  beforeAll(async () => {
    const thermal = { heatCapacityJPerK: TRUE_C, heatTransferWPerK: TRUE_K };
    study = chargeStudyDescription.parse({
      ...logStudy(),
      cells: logStudy().cells.map((cell) => ({ ...cell, entropicVPerK: 0, thermal })),
    });
    const rows = stackLogRows(usualTruth, usualBench(3), study);
    const text = withTemperatures(rows, usualTruth, { ...thermal, seed: 77 }, study);
    const read = readChargeLog(await readTable(bufferSource(Buffer.from(stackLogText(text, heatHeader)))));
    const columns = read.columns.map(({ unit, ...column }) => ({ ...column, unit: unit.symbol }));
    result = evaluateChargeLogs([{ ...read, columns }], study, { fit: ['start-soc', 'r0', 'heat'] });
  });

  it('gives both for each cell, with an interval that holds the truth, and puts them into the fitted study', () => {
    for (const cell of ['A', 'B'])
      for (const [quantity, truth] of [
        ['heatCapacityJPerK', TRUE_C],
        ['heatTransferWPerK', TRUE_K],
      ] as const) {
        const found = result.fit?.estimates.find((one) => one.cell === cell && one.quantity === quantity);
        expect(found?.reason, `${quantity} ${cell}`).toBeNull();
        expect(found!.low!, `${quantity} ${cell}`).toBeLessThan(truth);
        expect(found!.high!, `${quantity} ${cell}`).toBeGreaterThan(truth);
        expect(result.fit?.study?.cells.find(({ name }) => name === cell)?.thermal).toMatchObject({
          [quantity]: found!.value,
          basis: 'fitted',
        });
      }
  });

  it('gives neither an interval, nor a value for the study, where the study does not explain the voltages', async () => {
    const off = (value: number, i: number) => value + 0.02 * Math.sin((1.5 * Math.PI * i) / 20);
    const other = {
      ...study,
      cells: study.cells.map((cell) => ({ ...cell, ocvV: (cell.ocvV as number[]).map(off) })),
    };
    const thermal = { heatCapacityJPerK: TRUE_C, heatTransferWPerK: TRUE_K };
    const rows = withTemperatures(
      stackLogRows(usualTruth, usualBench(3), other),
      usualTruth,
      { ...thermal, seed: 78 },
      other,
    );
    const text = stackLogText(rows, heatHeader);
    const read = readChargeLog(await readTable(bufferSource(Buffer.from(text))));
    const columns = read.columns.map(({ unit, ...column }) => ({ ...column, unit: unit.symbol }));
    const { fit } = evaluateChargeLogs([{ ...read, columns }], study, { fit: ['start-soc', 'r0', 'heat'] });
    const heat = fit?.estimates.filter(({ quantity }) => quantity.startsWith('heat'));
    expect(heat).toHaveLength(4);
    for (const { low, high, standardError } of heat ?? [])
      expect([low, high, standardError]).toEqual([null, null, null]);
    const reasons = new Set(heat?.map(({ reason }) => reason));
    expect(reasons).toContain('does-not-explain-the-log');
    expect(reasons).not.toContain(null);
    expect(fit?.study?.cells.map(({ thermal: kept }) => kept?.basis)).not.toContain('fitted');
  });
});
