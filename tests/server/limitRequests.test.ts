import { setTimeout as delay } from 'node:timers/promises';
import express from 'express';
import request from 'supertest';
import { describe, expect, it } from 'vitest';
import { limitRequests } from '../../server/limitRequests.ts';
import { makeLot } from '../support/basics.ts';
import { openTestApp } from '../support/testApp.ts';

describe('requests beyond the limit of a minute', () => {
  it('are refused by name with the time to wait, and answered when that has passed', async () => {
    const windowMs = 1000;
    const app = express();
    app.use(limitRequests(3, windowMs));
    app.get('/', (_request, response) => response.send('answered'));
    const statuses = [];
    for (let i = 0; i < 3; i++) statuses.push((await request(app).get('/')).status);
    expect(statuses).toEqual([200, 200, 200]);
    const refused = await request(app).get('/');
    expect(refused.status).toBe(429);
    expect(refused.headers['retry-after']).toBe('1');
    expect(refused.body).toMatchObject({
      code: 'too-many-requests',
      detail: 'More than 3 requests within 1 s; wait a moment.',
    });
    await delay(windowMs);
    expect((await request(app).get('/')).status).toBe(200);
  });
});

describe('an answer', () => {
  it('is compressed where it is long, and sent as it is where one packet holds it', async () => {
    const test = await openTestApp();
    const encodingOf = async (path: string) => {
      const { status, headers } = await request(test.app)
        .get(`/api/v1${path}`)
        .set('Accept-Encoding', 'gzip');
      expect(status).toBe(200);
      return headers['content-encoding'];
    };
    expect(await encodingOf('/openapi.json')).toBe('gzip');
    expect(await encodingOf('/lots')).toBeUndefined();
    for (const lot of ['A', 'B', 'C', 'D', 'E', 'F']) await makeLot(test.context, { lot });
    expect(await encodingOf('/lots')).toBe('gzip');
    await test.close();
  });
});
