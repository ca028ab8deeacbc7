import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

describe('chemistries over HTTP', () => {
  const fields = {
    name: 'sodium / hard carbon',
    nominalVoltageV: 3.1,
    chargeVoltageLimitV: 4,
    dischargeCutoffV: 1.5,
    plausibleVoltageMinV: -0.1,
    plausibleVoltageMaxV: 4.5,
    usualChargeRateC: 1,
    chargeTemperatureMinC: 0,
    chargeTemperatureMaxC: 45,
    basis: 'invented for a test',
  };
  let test: TestApp;
  beforeAll(async () => {
    test = await openTestApp();
  });
  afterAll(async () => test.close());
  const send = (body: object) => request(test.app).post('/api/v1/chemistries').send(body);

  it('are kept with every default, and with who added them', async () => {
    const { status, body } = await send(fields);
    expect(status).toBe(201);
    expect(body).toMatchObject(fields);
    expect(
      await selectOne(
        test.context.store,
        `SELECT actor, action FROM AuditEntry WHERE subjectKind = 'chemistry' AND subjectId = ?`,
        body.id,
      ),
    ).toEqual({ actor: 'local', action: 'chemistry.created' });
  });

  it('are refused by every default that contradicts another', async () => {
    const { status, body } = await send({
      ...fields,
      name: 'wrong',
      dischargeCutoffV: 4.1,
      plausibleVoltageMaxV: 3.9,
      chargeTemperatureMinC: 50,
    });
    expect(status).toBe(400);
    expect(body.errors.map((error: { field: string; value: string }) => [error.field, error.value])).toEqual([
      ['dischargeCutoffV', '4.1'],
      ['chargeVoltageLimitV', '4'],
      ['chargeTemperatureMinC', '50'],
    ]);
  });
});
