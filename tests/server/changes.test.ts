import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeLot } from '../support/basics.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

describe('a change over HTTP', () => {
  let test: TestApp;
  let lotId: number;
  let cellTypeId: number;
  beforeAll(async () => {
    test = await openTestApp();
    const made = await makeLot(test.context, {
      cellType: { chargeVoltageLimitV: 4.1, maxChargeCurrentA: 3, maker: 'Nobody', referenceSoc: 0.6 },
    });
    lotId = made.lot.id;
    cellTypeId = made.cellType.id;
  });
  afterAll(async () => test.close());

  it('of a cell type leaves every datasheet limit that it does not name as it was', async () => {
    const path = `/api/v1/cell-types/${cellTypeId}`;
    const before = (await request(test.app).get(path)).body;
    const after = await request(test.app)
      .patch(path)
      .set('If-Match', `"${before.version}"`)
      .send({ massG: 43.5 });
    expect(after.body).toEqual({ ...before, massG: 43.5, version: before.version + 1 });
    expect(after.body).toMatchObject({ chargeVoltageLimitV: 4.1, maxChargeCurrentA: 3, referenceSoc: 0.6 });
  });

  it('of a lot leaves date and note as they were', async () => {
    const path = `/api/v1/lots/${lotId}`;
    const first = await request(test.app)
      .patch(path)
      .set('If-Match', '"1"')
      .send({ receivedOn: '2026-01-30', note: 'first' });
    const second = await request(test.app).patch(path).set('If-Match', '"2"').send({ name: 'renamed' });
    expect(second.body).toEqual({ ...first.body, name: 'renamed', version: 3 });
  });
});
