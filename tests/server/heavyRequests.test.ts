import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { request as httpRequest } from 'node:http';
import { connect, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStore } from '../../server/store/store.ts';
import { type RealService, startRealService } from '../support/realService.ts';
import { makeLot } from './importLot.ts';
import { usualCriteria } from './pairedLot.ts';

// Requests that are allowed but heavy, against the real program: refused with the bound named, or answered while the
// service answers others.

type Json = Record<string, unknown>;

let folder: string;
let service: RealService;
let address: string;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'gemel-heavy-'));
  mkdirSync(join(folder, 'data'));
  const store = await openStore(join(folder, 'data', 'gemel.sqlite'));
  await makeLot(store, 'L');
  await store.close();
  service = await startRealService(join(folder, 'data'), { variables: { GEMEL_BODY_LIMIT_MB: '1' } });
  ({ address } = service);
});
afterAll(async () => {
  await service?.end();
  rmSync(folder, { recursive: true, force: true });
});

async function send(path: string, body?: unknown): Promise<{ status: number; body: Json }> {
  const isText = typeof body === 'string';
  const response = await fetch(`${address}${path}`, {
    method: body === undefined ? 'GET' : 'POST',
    headers: { 'Content-Type': isText ? 'text/csv' : 'application/json' },
    ...(body !== undefined && { body: isText ? body : JSON.stringify(body) }),
  });
  return { status: response.status, body: (await response.json()) as Json };
}

/** Waits for a job and gives its result. */
async function ended(made: Json): Promise<Json> {
  for (let tries = 0; tries < 1200; tries++) {
    const { body } = await send(`/jobs/${made.id}`);
    if (body.state === 'done') return body.result as Json;
    if (body.state !== 'waiting' && body.state !== 'running') throw new Error(`${body.state}: ${body.error}`);
    await delay(50);
  }
  throw new Error('The job did not end.');
}

/** Counts the small reads that are answered while something heavy runs. */
async function answeredDuring<T>(heavy: Promise<T>): Promise<{ result: T; answered: number }> {
  let over = false;
  let answered = 0;
  const reads = (async () => {
    while (!over) {
      expect((await send('/lots')).status).toBe(200);
      if (!over) answered++;
    }
  })();
  const result = await heavy.finally(() => {
    over = true;
  });
  await reads;
  return { result, answered };
}

const study = (questions: Json) => ({
  description: {
    schemaVersion: 1,
    cells: [
      {
        name: 'A',
        capacityAh: 2.5,
        soc: [0, 1],
        ocvV: [3.4, 4.2],
        r0Ohm: 0.05,
        startSoc: 0.1,
        datasheet: { maxVoltageV: 4.2, maxChargeCurrentA: 5 },
        uncertainty: { capacityRelative: 0.01 },
      },
    ],
    stack: { ambientTemperatureC: 25 },
    phases: { stages: [{ rateC: 1 }] },
    questions,
  },
});

const serials = (prefix: string, count: number) => Array.from({ length: count }, (_, i) => `${prefix}-${i}`);
const table = (prefix: string, count: number) =>
  `serial,capacity_Ah,resistance_10s_mohm\n${serials(prefix, count)
    .map((serial, i) => `${serial},${2 + (i % 97) / 1000},${20 + (i % 89) / 100}`)
    .join('\n')}\n`;

describe('the service', () => {
  it('refuses a study with a million draws and a table of 10,000 rates, and names the bounds', async () => {
    const draws = await send('/charge-studies/compute', study({ monteCarlo: { draws: 1_000_000 } }));
    expect(draws.status).toBe(400);
    expect(JSON.stringify(draws.body)).toContain('20000');
    const rateTable = {
      temperatureC: serials('', 100).map((_, i) => i / 2),
      resistanceGrowth: serials('', 100).map((_, i) => i / 50),
    };
    const rates = await send('/charge-studies/compute', study({ rateTable }));
    expect(rates.status).toBe(400);
    const text = JSON.stringify(rates.body);
    expect(text).toContain('temperatureC');
    expect(text).toMatch(/20/);
    expect(text).toMatch(/10/);
  });

  it('computes a study of many draws beside serving', async () => {
    const { result, answered } = await answeredDuring(
      send('/charge-studies/compute', study({ monteCarlo: { draws: 1000 } })),
    );
    expect(result.status, JSON.stringify(result.body).slice(0, 500)).toBe(200);
    expect(answered).toBeGreaterThan(3);
  });

  it('refuses a body above its limit with the limit, and takes one just below', async () => {
    const note = (length: number) => ({ lotId: 1, serial: 'NOTE', note: 'n'.repeat(length) });
    const above = await send('/cells', note(1_100_000));
    expect(above).toMatchObject({ status: 413, body: { code: 'too-large' } });
    expect(JSON.stringify(above.body)).toContain('1048576');
    // Read as a whole and then refused by the length that a note may have.
    const below = await send('/cells', note(1_000_000));
    expect(below).toMatchObject({ status: 400, body: { code: 'invalid-request' } });
  });

  it('pairs a lot of more than a thousand cells as a job, counts and judges them beside serving', async () => {
    await ended((await send('/imports?lot=L&name=cells.csv', table('C', 1100))).body);
    const request = { lotIds: [1], criteria: usualCriteria() };
    const preview = await answeredDuring(send('/pairings/preview', request));
    expect(preview.result.status, JSON.stringify(preview.result.body).slice(0, 500)).toBe(200);
    expect(preview.answered).toBeGreaterThan(0);
    const judged = await answeredDuring(send('/lots/1/statistics'));
    expect(judged.result).toMatchObject({ status: 200, body: { lotId: 1 } });
    const made = await send('/pairings', request);
    expect(made.status).toBe(202);
    const paired = await answeredDuring(ended(made.body));
    expect(paired.result).toMatchObject({ pairingId: expect.any(Number) });
    expect(paired.answered).toBeGreaterThan(3);
    const many = await send('/pairings', {
      ...request,
      cellIds: Array.from({ length: 50_000 }, (_, i) => i + 1),
    });
    expect(many.status).toBe(400);
    expect(JSON.stringify(many.body)).toContain('20000');
  });

  it('says what the undoing of a large import means, undoes and restores it beside serving', async () => {
    const result = await ended((await send('/imports?lot=L&name=u1.csv', table('U', 1100))).body);
    const [{ sourceFileId }] = result.reports as { sourceFileId: number }[];
    await ended((await send('/imports?lot=L&name=u2.csv', `${table('U', 1100)}U-0,2.5,21\n`)).body);
    const path = `/imports/${sourceFileId}`;
    const consequences = await answeredDuring(send(`${path}/consequences`));
    expect(consequences.result).toMatchObject({
      status: 200,
      body: { measurements: 2200, cellsRemoved: [] },
    });
    const undone = await answeredDuring(send(`${path}/undo`, {}));
    expect(undone.result).toMatchObject({ status: 200, body: { state: 'undone' } });
    expect(undone.answered).toBeGreaterThan(0);
    expect(await send(`${path}/undo`, {})).toMatchObject({ status: 409, body: { code: 'conflict' } });
    expect(await send(`${path}/restore`, {})).toMatchObject({ status: 200, body: { state: 'taken' } });
  });

  it('holds 200 connections of which none says anything, and a client that sends byte by byte', async () => {
    const port = Number(new URL(address).port);
    const sockets: Socket[] = Array.from({ length: 200 }, () => connect(port, '127.0.0.1'));
    for (const socket of sockets) socket.on('error', () => {});
    const body = JSON.stringify({ lotId: 1, serial: 'SLOW', note: '' });
    const slow = new Promise<number>((resolve, reject) => {
      const sent = httpRequest(`${address}/cells`, {
        method: 'POST',
        headers: { 'Content-Type': 'application/json', 'Content-Length': body.length },
      });
      sent.on('response', (response) => resolve(response.statusCode ?? 0)).on('error', reject);
      const drip = async () => {
        for (const letter of body) {
          sent.write(letter);
          await delay(20);
        }
        sent.end();
      };
      void drip();
    });
    const { result, answered } = await answeredDuring(slow);
    expect(result).toBe(201);
    expect(answered).toBeGreaterThan(3);
    for (const socket of sockets) socket.destroy();
  });

  it('takes 20 uploads at once, each whole', async () => {
    const names = serials('U', 20);
    const { result, answered } = await answeredDuring(
      Promise.all(names.map((name) => send(`/imports?lot=L&name=${name}.csv`, table(name, 200)))),
    );
    expect(result.map(({ status }) => status)).toEqual(names.map(() => 202));
    expect(answered).toBeGreaterThan(0);
    const results = await Promise.all(result.map(({ body }) => ended(body)));
    for (const { reports } of results) expect(reports).toMatchObject([{ state: 'taken', cellsCreated: 200 }]);
  });
});
