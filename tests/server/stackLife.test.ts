import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { evaluateStackLogs as evaluateBody } from '../../server/contract/stackLogEvaluations.ts';
import { insertMeasurements } from '../../server/store/measurements.ts';
import { undoImport } from '../../server/use-cases/imports/undoImport.ts';
import { findWarningSigns } from '../../server/use-cases/register/findWarningSigns.ts';
import { evaluateStackLogs } from '../../server/use-cases/stack-logs/evaluateStackLogs.ts';
import { readStackLife } from '../../server/use-cases/stacks/readStackLife.ts';
import { importStackLogText, makeStack } from '../support/loggedStack.ts';
import { newMeasurement } from '../support/measurement.ts';
import { logStudy, stackLogRows, stackLogText, usualBench, usualTruth } from '../support/stackLog.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

let test: TestApp;
beforeAll(async () => {
  test = await openTestApp();
});
afterAll(() => test.close());

/** A stack whose second cell loses charge against the first from log to log, and gains resistance. */
async function loggedStack(name: string, lostSocPerLog: number) {
  const made = await makeStack(test.context, name);
  const files: number[] = [];
  for (const [i, cycle] of [100, 300, 500].entries()) {
    const truth = {
      ...usualTruth,
      startSoc: [0.22, 0.2 - lostSocPerLog * i],
      r0Factor: [1, 1.1 + 0.05 * i],
    };
    const text = stackLogText(stackLogRows(truth, usualBench(71 + i + 10 * name.length)));
    const report = await importStackLogText(
      test.context,
      text,
      { stack: name, cycle },
      `${name} ${cycle}.csv`,
    );
    files.push(report.sourceFileId ?? 0);
    await evaluateStackLogs(
      test.context,
      evaluateBody.parse({ logIds: [report.stackLogId], description: logStudy(), fit: ['start-soc', 'r0'] }),
    );
  }
  return { ...made, files };
}

describe('a stack over its life', () => {
  it('that drifts apart says so with its interval, on its page, the start page and in the judgement of its lot', async () => {
    const { stackId, cellIds, files } = await loggedStack('S-drift', 0.015);
    const { drift, verdict, tracks } = await readStackLife(test.context, stackId);
    // 1.5 % of 3 Ah in 200 cycles.
    const truth = -0.045 / 200;
    expect(drift[0].drifting).toBe(true);
    expect(drift[0].perCycleAh?.low).toBeLessThan(truth);
    expect(drift[0].perCycleAh?.high).toBeGreaterThan(truth);
    expect(verdict[0]).toMatch(/^The stack drifts apart: S-drift-B against the first cell −0\.2\d\d /);
    const rise = tracks.find(({ source, cellId }) => source === 'charge' && cellId === cellIds[1])?.change;
    expect(rise?.low).toBeLessThan(1.2 / 1.1 - 1);
    expect(rise?.high).toBeGreaterThan(1.2 / 1.1 - 1);
    const { body } = await request(test.app).get('/api/v1/overview');
    expect(body.waiting.stacksDrifting).toBe(1);
    const { body: lots } = await request(test.app).get('/api/v1/lots?limit=10');
    const lotId = lots.items.find((lot: { name: string }) => lot.name === 'lot of S-drift').id;
    const signs = await findWarningSigns(test.context, lotId);
    expect(signs).toEqual([expect.objectContaining({ cellId: cellIds[1], code: 'stack-drift' })]);
    await undoImport(test.context, files[2]);
    expect(await findWarningSigns(test.context, lotId)).toEqual([]);
  });

  it('that does not drift has an interval that holds zero or too small a slope, and no warning sign', async () => {
    const { stackId } = await loggedStack('S-steady', 0);
    const { drift } = await readStackLife(test.context, stackId);
    expect(drift[0].drifting).toBe(false);
    expect(drift[0].perCycleAh).not.toBeNull();
  });

  it('compares resistances of one condition only and widens the change by both uncertainties', async () => {
    const { stackId, cellIds } = await makeStack(test.context, 'S-pulses');
    const plain = newMeasurement(cellIds[0], { reason: null, temperatureC: 25, standardUncertainty: 0.0002 });
    const resistance = { ...plain, quantity: 'resistance' as const, unit: 'Ohm', soc: 0.5, durationS: 10 };
    await insertMeasurements(
      test.context.store,
      [
        { ...resistance, value: 0.02, cycle: 0 },
        { ...resistance, value: 0.0236, cycle: 400 },
        { ...resistance, value: 0.05, cycle: 400, temperatureC: 0 },
      ],
      '2026-02-01T08:00:00.000Z',
    );
    const { tracks, verdict } = await readStackLife(test.context, stackId);
    expect(tracks).toHaveLength(1);
    expect(tracks[0].change?.value).toBeCloseTo(0.18, 10);
    const half = ((tracks[0].change?.high ?? 0) - (tracks[0].change?.low ?? 0)) / 2;
    expect(half).toBeCloseTo(1.96 * 1.18 * Math.hypot(0.01, 0.0002 / 0.0236), 4);
    expect(verdict[0]).toMatch(
      /^Resistance of S-pulses-A at 10 s, 50 % SOC, 25 °C: \+18\.0 % ± 3\.0 from cycle 0 to 400\.$/,
    );
  });
});
