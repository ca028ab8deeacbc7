import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ageingSettings } from '../../server/contract/ageingAssessment.ts';
import type { ChargeStudyDraft } from '../../server/contract/chargeStudies.ts';
import { inOrder } from '../../server/inOrder.ts';
import { insertCell } from '../../server/store/cells.ts';
import { assessAgeing } from '../../server/use-cases/ageing/assessAgeing.ts';
import { createLot } from '../../server/use-cases/register/createLot.ts';
import { runSql } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { type FilledStore, fillStore } from './exportStore.ts';

let test: TestApp;
let filled: FilledStore;
let cycledLotId: number;
beforeAll(async () => {
  test = await openTestApp();
  filled = await fillStore(test.context);
  const { cellTypeId } = filled;
  const lot = { name: 'cycled', cellTypeId, receivedOn: null, note: '' };
  cycledLotId = (await createLot(test.context, lot)).id;
});
afterAll(async () => test.close());

const rates = [0.5, 1, 1.5, 2, 2.5, 3];
/** Cycles to 80 % of rated of a cell cycled at a rate: ln life falls by 0.5 for each C. */
const lifeAt = (rateC: number, scatter = 0) => 1000 * Math.exp(-0.5 * (rateC - 1) + scatter);

/** Cells whose capacity falls in a straight line to 80 % of rated at their life, assessed against the rate. */
async function cycle(
  prefix: string,
  lives: readonly number[],
  term = { name: 'charge rate', unit: 'C' },
): Promise<void> {
  const { store } = test.context;
  const createdAt = test.context.now().toISOString();
  const cells = await store.transaction(async (store) => {
    await runSql(store, 'UPDATE Measurement SET supersededAt = ? WHERE method = ?', createdAt, 'cycle table');
    return await inOrder(lives, async (life, k) => {
      const serial = `${prefix}-${k}`;
      const cell = { lotId: cycledLotId, serial, note: '', createdAt, sourceFileId: null };
      const cellId = await insertCell(store, cell);
      for (let p = 0; p <= 40; p++) {
        const cycleNumber = Math.round((1.4 * life * p) / 40);
        await runSql(
          store,
          `INSERT INTO Measurement (cellId, quantity, unit, value, cycle, method, createdAt)
           VALUES (?, 'capacity', 'A.h', ?, ?, 'cycle table', ?)`,
          cellId,
          2 - (0.4 * cycleNumber) / life,
          cycleNumber,
          createdAt,
        );
      }
      return { cellId, values: [rates[k]] };
    });
  });
  await assessAgeing(
    test.context,
    cycledLotId,
    ageingSettings.parse({ endOfLife: ['80%-of-rated'], lotPrior: false, stress: { terms: [term], cells } }),
  );
}

async function draft(): Promise<ChargeStudyDraft> {
  const body = { stackId: filled.stackId, withLife: true };
  const answer = await request(test.app).post('/api/v1/charge-studies/draft').send(body);
  expect(answer.status).toBe(200);
  return answer.body;
}
const codes = (made: ChargeStudyDraft) => made.notes.map((note) => note.code);

describe('a draft with the trade-off of rate against life', () => {
  it('says why there is none where no lot was assessed against stress, and asks for nothing unasked', async () => {
    const made = await draft();
    expect(codes(made)).toContain('no-life-law');
    expect(made.description.questions.rateSearch).toBeUndefined();
    const plain = await request(test.app)
      .post('/api/v1/charge-studies/draft')
      .send({ stackId: filled.stackId });
    expect(codes(plain.body)).not.toContain('no-life-law');
  });

  it('takes the law of cycled cells of the type: its coefficient, its mean and its range', async () => {
    await cycle(
      'S',
      rates.map((rate) => lifeAt(rate)),
    );
    const made = await draft();
    const life = made.description.questions.rateSearch?.life;
    if (life === undefined) throw new Error(JSON.stringify(made.notes));
    expect(life.rateCoefficientPerC).toBeCloseTo(-0.5, 2);
    expect(life.referenceRateC).toBeCloseTo(1.75, 12);
    // A limit counts as crossed at the first measured point below it: 1.4 / 40 of life later at most.
    expect(life.cyclesAtReference / lifeAt(1.75)).toBeGreaterThanOrEqual(1);
    expect(life.cyclesAtReference / lifeAt(1.75)).toBeLessThan(1.035);
    expect(life).toMatchObject({
      validRateC: { from: 0.5, to: 3 },
      activationEnergyJPerMol: 0,
      rateExponent: 0,
    });
    expect(codes(made)).toEqual(expect.arrayContaining(['life-law', 'life-law-without-temperature']));
    expect(codes(made)).not.toContain('life-law-weak');
    expect(made.notes.find((note) => note.code === 'life-law')?.message).toMatch(/from 0\.5 C to 3 C/);
  });

  it('gives in the study the life that the cells had at a rate, and none outside their rates', async () => {
    const { description } = await draft();
    const answer = await request(test.app).post('/api/v1/charge-studies/compute').send({ description });
    const { tradeOff } = answer.body.rateSearch;
    const within = tradeOff.filter((point: { rateC: number }) => point.rateC >= 0.5);
    expect(within.length).toBeGreaterThan(3);
    for (const point of within) expect(point.lifeCycles / lifeAt(point.rateC)).toBeCloseTo(1, 1);
    const outside = tradeOff.filter((point: { rateC: number }) => point.rateC < 0.5);
    expect(outside.length).toBeGreaterThan(0);
    for (const point of outside) expect(point.lifeCycles).toBeNull();
  });

  it('says that a dependence is weak, and takes none that cannot tell or that rises with the rate', async () => {
    await cycle(
      'W',
      rates.map((rate, k) => lifeAt(rate, [0.28, -0.35, 0.07, 0.31, -0.35, 0.07][k])),
    );
    const weak = await draft();
    expect(codes(weak)).toContain('life-law-weak');
    expect(weak.description.questions.rateSearch?.life).toBeDefined();
    await cycle(
      'N',
      rates.map((_, k) => 800 * [1, 1.2, 0.9, 1.1, 1.05, 0.95][k]),
    );
    const none = await draft();
    expect(none.description.questions.rateSearch).toBeUndefined();
    expect(none.notes.find((note) => note.code === 'no-life-law')?.message).toMatch(/cannot tell/);
    await cycle(
      'R',
      rates.map((rate) => 1000 * Math.exp(0.3 * rate)),
    );
    expect((await draft()).notes.find((note) => note.code === 'no-life-law')?.message).toMatch(
      /does not fall/,
    );
  });

  it('takes no rate of discharging for a charge rate', async () => {
    await cycle(
      'D',
      rates.map((rate) => lifeAt(rate)),
      { name: 'discharge rate', unit: 'C' },
    );
    const made = await draft();
    expect(made.notes.find((note) => note.code === 'no-life-law')?.message).toMatch(
      /no assessment|No assessment/,
    );
  });
});
