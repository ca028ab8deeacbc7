import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { Agent, request } from 'node:http';
import type { AddressInfo } from 'node:net';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import express, { type Express } from 'express';
import pg from 'pg';
import pino from 'pino';
import { seededRandom } from '../../fitting/statistics/random.ts';
import { localActor } from '../../server/access/identify.ts';
import { createApp } from '../../server/app.ts';
import { readConfig } from '../../server/config.ts';
import { findPostgresqlPrograms, startTemporaryCluster } from '../../server/setup/temporaryCluster.ts';
import { type DatabasePlace, openStore } from '../../server/store/store.ts';
import { createCell } from '../../server/use-cases/register/createCell.ts';
import { makeLot } from '../support/basics.ts';
import type { Bench, BenchResult, BenchRow } from './harness.ts';
import { median, share } from './harness.ts';

const rounds = 9;
const readsOfRound = Math.max(50, Math.round(3000 * share));
/** Readers at a time, so that a database on a server is not waited for one read after the other. */
const readers = 8;
const path = '/api/v1/cells/1';
const agent = new Agent({ keepAlive: true, maxSockets: readers });

interface Served {
  readonly address: string;
  close(): Promise<void>;
}

async function listen(app: Express): Promise<Served> {
  const server = app.listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as AddressInfo;
  return {
    address: `http://127.0.0.1:${port}${path}`,
    close: async () => {
      server.closeAllConnections();
      await new Promise((resolve) => server.close(resolve));
    },
  };
}

function read(url: string): Promise<string> {
  return new Promise((resolve, reject) => {
    const asked = request(url, { agent }, (response) => {
      let text = '';
      response.setEncoding('utf8');
      response.on('data', (piece: string) => {
        text += piece;
      });
      response.on('end', () =>
        response.statusCode === 200 ? resolve(text) : reject(new Error(`${response.statusCode}: ${text}`)),
      );
    });
    asked.on('error', reject);
    asked.end();
  });
}

/** Seconds of one read, where several readers ask one after the other. */
async function timeReads(url: string): Promise<number> {
  const start = performance.now();
  await Promise.all(
    Array.from({ length: readers }, async () => {
      for (let i = 0; i < readsOfRound / readers; i++) await read(url);
    }),
  );
  return (performance.now() - start) / 1000 / readsOfRound;
}

/** A cell by its number, by gemel and by a peer, in turn. */
async function compare(
  place: DatabasePlace,
  folder: string,
  peerOf: (text: string) => Express,
  names: readonly [ours: string, theirs: string],
): Promise<{ rows: BenchRow[]; ratio: number }> {
  const store = await openStore(place);
  const base = { store, now: () => new Date(), random: seededRandom(1) };
  const { lot } = await makeLot({ ...base, actor: localActor });
  await createCell({ ...base, actor: localActor }, { lotId: lot.id, serial: 'C-1', note: '' });
  const config = readConfig({ GEMEL_DATA: folder });
  const ours = await listen(createApp({ config, base, log: pino({ level: 'silent' }) }));
  const text = await read(ours.address);
  const theirs = await listen(peerOf(text));
  if ((await read(theirs.address)).length < text.length / 2)
    throw new Error('The peer does not answer the same.');
  const seconds: [number[], number[]] = [[], []];
  for (let round = 0; round <= rounds; round++) {
    const [own, other] = [await timeReads(ours.address), await timeReads(theirs.address)];
    // The first round warms both up and is not counted.
    if (round > 0) {
      seconds[0].push(own);
      seconds[1].push(other);
    }
  }
  await ours.close();
  await theirs.close();
  await store.close();
  const rows = seconds.map((each, i) => ({ who: names[i], medianS: median(each) }));
  return { rows, ratio: rows[1].medianS / rows[0].medianS };
}

function bareExpress(text: string): Express {
  const app = express();
  app.get('/api/v1/cells/:id', (_request, response) => {
    response.type('application/json').send(text);
  });
  return app;
}

/** What the answer shows of a cell, read by one statement of the driver. */
function expressWithPg(pool: pg.Pool): Express {
  const app = express();
  app.get('/api/v1/cells/:id', async (request, response) => {
    const { rows } = await pool.query(
      `SELECT c.id, c.version, c."lotId", l.name AS "lotName", c.serial, c.state, c."stateReason", c.note, c."createdAt",
         c."testCount", c."canBePaired", t.name AS "cellTypeName", t."ratedCapacityAh"
       FROM "Cell" c JOIN "Lot" l ON l.id = c."lotId" JOIN "CellType" t ON t.id = l."cellTypeId" WHERE c.id = $1`,
      [request.params.id],
    );
    response.json(rows[0]);
  });
  return app;
}

async function run(): Promise<BenchResult> {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-bench-'));
  const loadBefore = loadavg()[0].toFixed(1);
  try {
    const file = join(folder, 'bench.sqlite');
    const sqlite = await compare({ kind: 'sqlite', file }, folder, bareExpress, [
      'gemel, SQLite',
      'Express alone, the same bytes',
    ]);
    const rows = [...sqlite.rows];
    const remarks = [`load of the machine before: ${loadBefore}; goals: 0.7 on SQLite, 0.8 on PostgreSQL`];
    if (findPostgresqlPrograms() === null) remarks.push('PostgreSQL is missing: apt-get install postgresql');
    else {
      const cluster = await startTemporaryCluster(['fsync=off']);
      const pool = new pg.Pool({ connectionString: cluster.url('postgres'), max: 10 });
      // `end` does not wait for the connections: the server that is stopped next ends those that are left.
      pool.on('error', (error) => {
        if (!pool.ended) throw error;
      });
      try {
        const url = cluster.url('postgres');
        const server = await compare({ kind: 'postgresql', url, folder }, folder, () => expressWithPg(pool), [
          'gemel, PostgreSQL',
          'Express and pg, one statement',
        ]);
        rows.push(...server.rows);
        remarks.push(`ratio read-postgresql ${server.ratio.toPrecision(4)}`);
      } finally {
        await pool.end();
        await cluster.stop();
      }
    }
    return {
      name: 'read',
      title: `A cell by its number over HTTP, ${readers} readers`,
      rows,
      ratio: sqlite.ratio,
      against: 'Express without a database that answers the same bytes',
      remarks,
    };
  } finally {
    agent.destroy();
    rmSync(folder, { recursive: true, force: true });
  }
}

const bench: Bench = { name: 'read', run };
export default bench;
