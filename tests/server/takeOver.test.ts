import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { evaluateStackLogs as evaluateBody } from '../../server/contract/stackLogEvaluations.ts';
import { createSupplyPart } from '../../server/contract/supplyParts.ts';
import { takeOver } from '../../server/contract/takenParameters.ts';
import { draftChargeStudy } from '../../server/use-cases/charging/draftChargeStudy.ts';
import { readParameters } from '../../server/use-cases/parameters/readParameters.ts';
import { evaluateStackLogs } from '../../server/use-cases/stack-logs/evaluateStackLogs.ts';
import { readStackLogEvaluation } from '../../server/use-cases/stack-logs/readStackLogEvaluation.ts';
import { takeOverFromLogs } from '../../server/use-cases/stack-logs/takeOver.ts';
import { keepSupplyPart } from '../../server/use-cases/supply-parts/keepSupplyPart.ts';
import { importStackLogText } from '../support/loggedStack.ts';
import {
  heatHeader,
  stackLogRows,
  stackLogText,
  usualBench,
  usualTruth,
  withTemperatures,
} from '../support/stackLog.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { type FilledStore, fillStore } from './exportStore.ts';

let test: TestApp;
let filled: FilledStore;
let evaluationId: number;
let logId: number;

beforeAll(async () => {
  test = await openTestApp();
  filled = await fillStore(test.context);
  await keepSupplyPart(
    test.context,
    createSupplyPart.parse({
      kind: 'converter',
      name: 'CP 2:1',
      description: { ratioStage: { ratio: 2, maxPathCurrentA: 6, efficiency: 0.98 } },
    }),
  );
  await keepSupplyPart(
    test.context,
    createSupplyPart.parse({
      kind: 'source',
      name: 'bench',
      description: { maxVoltageV: 20, maxCurrentA: 5 },
    }),
  );
  const { description } = await draftChargeStudy(test.context, {
    stackId: filled.stackId,
    converter: 'CP 2:1',
    source: 'bench',
  });
  const truth = { ...usualTruth, startSoc: [0.22, 0.2] };
  const text = stackLogText(stackLogRows(truth, usualBench(41), description));
  const report = await importStackLogText(test.context, text, { stack: 'Stapel "7"/links', cycle: 300 });
  expect(report.refusal).toBeNull();
  logId = report.stackLogId ?? 0;
  evaluationId = await evaluate();
});
afterAll(() => test.close());

const evaluate = () =>
  evaluateStackLogs(
    test.context,
    evaluateBody.parse({ logIds: [logId], fit: ['start-soc', 'r0'], converter: 'CP 2:1', source: 'bench' }),
  );

const r0Of = async (cellId: number) =>
  (await readParameters(test.context, 'cell', cellId)).cells[0].circuits.map((table) => ({
    fitId: table.fitId,
    r0Ohm: table.rows.map((row) => row.r0.value ?? Number.NaN),
  }));

describe('results of a measured charge that are taken over', () => {
  it('scale the cell’s resistances in every later study, while the pulse fit stays as it was', async () => {
    const [, cellId] = filled.cellIds;
    const before = await r0Of(cellId);
    const { result } = await readStackLogEvaluation(test.context, evaluationId);
    const name = result.conditions.cells[1].name;
    const factor = result.fit?.estimates.find((one) => one.quantity === 'r0Factor' && one.cell === name);
    expect(factor?.value).toBeGreaterThan(1.2);
    expect(factor?.value).toBeLessThan(1.3);
    const taken = await takeOverFromLogs(
      test.context,
      evaluationId,
      takeOver.parse({ cells: [{ cellId, quantities: ['r0'] }] }),
    );
    expect(taken.fitIds).toHaveLength(1);
    const after = await r0Of(cellId);
    after.forEach(({ fitId, r0Ohm }, t) => {
      expect(fitId).toBe(taken.fitIds[0]);
      r0Ohm.forEach((value, row) => {
        expect(value).toBeCloseTo(before[t].r0Ohm[row] * (factor?.value ?? 0), 12);
      });
    });
    const again = await readStackLogEvaluation(test.context, await evaluate());
    const rest = again.result.fit?.estimates.find((one) => one.quantity === 'r0Factor' && one.cell === name);
    expect(rest?.value).toBeCloseTo(1, 2);
    await expect(
      takeOverFromLogs(test.context, evaluationId, takeOver.parse({ stackResistance: true })),
    ).rejects.toMatchObject({ code: 'conflict' });
  });

  it('become the stack’s resistance and the next revision of the converter, with their intervals', async () => {
    const id = await evaluate();
    const { supplyParts } = await takeOverFromLogs(
      test.context,
      id,
      takeOver.parse({ stackResistance: true, converter: 'CP 2:1' }),
    );
    expect(supplyParts[0]).toMatchObject({ name: 'CP 2:1', revision: 2, fitId: id });
    expect(supplyParts[0].measured.fromLog?.converterOhm?.low).toBeLessThan(usualTruth.converterOhm);
    expect(supplyParts[0].measured.fromLog?.converterOhm?.high).toBeGreaterThan(usualTruth.converterOhm);
    const { description } = await draftChargeStudy(test.context, {
      stackId: filled.stackId,
      converter: 'CP 2:1',
      source: 'bench',
    });
    expect(description.stack.seriesResistance?.toSensePointOhm).toBeCloseTo(usualTruth.stackOhm, 3);
    expect(description.converter?.part).toMatchObject({ name: 'CP 2:1', revision: 2 });
    expect(description.converter?.ratioStage?.outputResistanceOhm).toBeCloseTo(usualTruth.converterOhm, 3);
  });

  it('give a cell its heat, which counts before that of its type in every later study and export', async () => {
    const [cellId] = filled.cellIds;
    const { description } = await draftChargeStudy(test.context, { stackId: filled.stackId });
    const heat = { heatCapacityJPerK: 60, heatTransferWPerK: 0.15 };
    const rows = stackLogRows({ ...usualTruth, startSoc: [0.22, 0.2] }, usualBench(43), {
      ...description,
      cells: description.cells.map((cell) => ({ ...cell, entropicVPerK: 0, thermal: undefined })),
    });
    const startSoc = [0.22, 0.2];
    const text = stackLogText(
      withTemperatures(rows, { startSoc }, { ...heat, seed: 5 }, description),
      heatHeader,
    );
    const report = await importStackLogText(
      test.context,
      text,
      { stack: 'Stapel "7"/links', cycle: 310 },
      'warm.csv',
    );
    expect(report.refusal).toBeNull();
    const id = await evaluateStackLogs(
      test.context,
      evaluateBody.parse({ logIds: [report.stackLogId], fit: ['start-soc', 'r0', 'heat'] }),
    );
    const { result } = await readStackLogEvaluation(test.context, id);
    const name = result.conditions.cells[0].name;
    const found = result.fit?.estimates.find(
      (one) => one.quantity === 'heatCapacityJPerK' && one.cell === name,
    );
    expect(found?.reason).toBeNull();
    const { fitIds } = await takeOverFromLogs(
      test.context,
      id,
      takeOver.parse({ cells: [{ cellId, quantities: ['heat'] }] }),
    );
    const set = await readParameters(test.context, 'cell', cellId);
    expect(set.cells[0].heat).toMatchObject({
      fitId: fitIds[0],
      heatCapacity: { value: found?.value, standardUncertainty: found?.standardError, unit: 'J/K' },
    });
    expect(set.provenance.fits.map(({ id: fit }) => fit)).toContain(fitIds[0]);
    const after = await draftChargeStudy(test.context, { stackId: filled.stackId });
    expect(after.description.cells[0].thermal).toMatchObject({
      heatCapacityJPerK: found?.value,
      basis: 'fitted',
    });
    // The other cell of the stack keeps what its type says.
    expect(after.description.cells[1].thermal).toEqual(description.cells[1].thermal);
    expect(after.notes.map(({ code }) => code)).toContain('measured-heat');
  });

  it('are refused by name where they were not fitted or are not of the stack', async () => {
    const id = await evaluate();
    const [cellId] = filled.cellIds;
    const refused = (given: object) => takeOverFromLogs(test.context, id, takeOver.parse(given));
    await expect(refused({ cells: [{ cellId, quantities: ['capacity'] }] })).rejects.toMatchObject({
      places: [expect.objectContaining({ value: 'capacityAh', reason: 'it was not fitted' })],
    });
    await expect(
      refused({ cells: [{ cellId: filled.bareCellId, quantities: ['r0'] }] }),
    ).rejects.toMatchObject({
      places: [expect.objectContaining({ field: 'cells' })],
    });
    await expect(refused({ converter: 'unknown' })).rejects.toMatchObject({ code: 'not-found' });
  });
});
