import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { evaluateStackLogs as settings } from '../../server/contract/stackLogEvaluations.ts';
import { undoImport } from '../../server/use-cases/imports/undoImport.ts';
import { evaluateStackLogs } from '../../server/use-cases/stack-logs/evaluateStackLogs.ts';
import { readStackLogEvaluation } from '../../server/use-cases/stack-logs/readStackLogEvaluation.ts';
import { importStackLogText, makeStack } from '../support/loggedStack.ts';
import { logStudy, stackLogRows, stackLogText, usualBench, usualTruth } from '../support/stackLog.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

let test: TestApp;
let logIds: number[];
let sourceFileId: number;
const FIT = ['capacity', 'start-soc', 'r0', 'branches'] as const;

beforeAll(async () => {
  test = await openTestApp();
  await makeStack(test.context);
  logIds = [];
  for (const [seed, cycle] of [
    [21, 100],
    [22, 200],
  ]) {
    const text = stackLogText(stackLogRows(usualTruth, { ...usualBench(seed), metersOf: 21 }));
    const report = await importStackLogText(test.context, text, { stack: 'S-1', cycle }, `log ${cycle}.csv`);
    logIds.push(report.stackLogId ?? 0);
    sourceFileId = report.sourceFileId ?? 0;
  }
});
afterAll(() => test.close());

const evaluate = (given: object) =>
  evaluateStackLogs(test.context, settings.parse({ description: logStudy(), fit: FIT, ...given }));

describe('an evaluation of stored stack logs', () => {
  it('is stored with its settings, its study and the hashes of its files, and stays as it was when another supersedes it', async () => {
    const first = await evaluate({ logIds: [logIds[0]] });
    const kept = await readStackLogEvaluation(test.context, first);
    expect(kept).toMatchObject({ logIds: [logIds[0]], supersededAt: null, settings: { fit: FIT } });
    expect(kept.inputs.logs[0]).toMatchObject({ fileName: 'log 100.csv', cycle: 100 });
    expect(kept.inputs.logs[0].sha256).toMatch(/^[0-9a-f]{64}$/);
    expect(kept.inputs.description).toEqual(logStudy());
    expect(kept.result.fit?.singleChanges[0]).toMatchObject({ quantity: 'r0Factor', cell: 'B' });
    expect(kept.verdict).toBe(kept.result.comparison.verdict[0]);
    const second = await evaluate({ logIds: [logIds[0]], voltageOffsetV: 0.002 });
    const again = await readStackLogEvaluation(test.context, first);
    expect(again.supersededAt).not.toBeNull();
    expect(again.result).toEqual(kept.result);
    const { body } = await request(test.app).get(`/api/v1/stack-log-evaluations?logId=${logIds[0]}`);
    expect(body.items.map(({ id }: { id: number }) => id)).toEqual([second, first]);
  });

  it('of several logs fits them together, with narrower intervals than one of them gives', async () => {
    const alone = await readStackLogEvaluation(test.context, await evaluate({ logIds: [logIds[0]] }));
    const both = await readStackLogEvaluation(test.context, await evaluate({ logIds }));
    const width = (evaluation: typeof both, quantity: string, cell: string) => {
      const found = evaluation.result.fit?.estimates.find((e) => e.quantity === quantity && e.cell === cell);
      return (found?.high ?? Number.NaN) - (found?.low ?? Number.NaN);
    };
    expect(width(both, 'r0Factor', 'B')).toBeLessThan(width(alone, 'r0Factor', 'B'));
    expect(both.result.furtherLogs).toHaveLength(1);
    const starts = both.result.fit?.estimates.filter(({ quantity }) => quantity === 'startSoc');
    expect(starts?.map(({ cell, log }) => [cell, log])).toEqual([
      ['A', 0],
      ['A', 1],
      ['B', 0],
      ['B', 1],
    ]);
    expect(both.result.fit?.after.map(({ log }) => log)).toEqual([0, 0, 1, 1]);
  });

  it('runs as a job by HTTP, and by its own rules refuses logs twice, of no stack, and two studies', async () => {
    const sent = await request(test.app)
      .post('/api/v1/stack-log-evaluations')
      .send({ logIds: [logIds[0]], description: logStudy() });
    expect(sent.status).toBe(202);
    expect(sent.body).toMatchObject({ kind: 'charge-log', state: 'waiting' });
    const missing = await request(test.app)
      .post('/api/v1/stack-log-evaluations')
      .send({ logIds: [999] });
    expect(missing.status).toBe(404);
    await expect(evaluate({ logIds: [logIds[0], logIds[0]] })).rejects.toMatchObject({
      places: [expect.objectContaining({ field: 'logIds', value: String(logIds[0]) })],
    });
    await expect(evaluate({ logIds: [logIds[0]], studyId: 1 })).rejects.toMatchObject({
      places: [expect.objectContaining({ field: 'studyId' })],
    });
  });

  it('that is stopped stores nothing', async () => {
    const count = async () => {
      const { n } = await test.context.store.db
        .selectFrom('Fit')
        .select(({ fn }) => fn.countAll<number>().as('n'))
        .executeTakeFirstOrThrow();
      return Number(n);
    };
    const before = await count();
    const stop = evaluateStackLogs(
      test.context,
      settings.parse({ logIds: [logIds[0]], description: logStudy() }),
      () => {
        throw new Error('stopped');
      },
    );
    await expect(stop).rejects.toThrow('stopped');
    expect(await count()).toBe(before);
  });

  it('holds no longer when the import of one of its logs is taken back', async () => {
    const id = await evaluate({ logIds: [logIds[1]] });
    await undoImport(test.context, sourceFileId);
    expect((await readStackLogEvaluation(test.context, id)).supersededAt).not.toBeNull();
    await expect(evaluate({ logIds: [logIds[1]] })).rejects.toMatchObject({ code: 'not-evaluable' });
  });
});

describe('the operating points of a stored log', () => {
  it('give the converter that it was charged through, within their intervals, and make a kept part with its curve', async () => {
    const { status, body } = await request(test.app).get(`/api/v1/stack-logs/${logIds[0]}/operating-points`);
    expect(status, JSON.stringify(body)).toBe(200);
    expect(body.points.length).toBeGreaterThan(5);
    const made = await request(test.app)
      .post('/api/v1/supply-parts')
      .send({
        kind: 'converter',
        name: 'from a log',
        description: {
          ratioStage: {
            ratio: 2,
            maxPathCurrentA: 6,
            operatingPoints: { points: body.points, meters: body.meters },
          },
        },
      });
    expect(made.status, made.text).toBe(201);
    const { outputResistanceOhm: ohm, fixedLossCurrentA: fixed, curve } = made.body.measured.converter;
    expect(usualTruth.converterOhm).toBeGreaterThan(ohm.low);
    expect(usualTruth.converterOhm).toBeLessThan(ohm.high);
    expect(usualTruth.fixedLossA).toBeGreaterThan(fixed.low);
    expect(usualTruth.fixedLossA).toBeLessThan(fixed.high);
    expect(curve.length).toBeGreaterThan(5);
  });
});
