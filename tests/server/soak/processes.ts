import { type ChildProcess, spawn } from 'node:child_process';
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import pg from 'pg';
import { projectRoot } from '../../../server/projectRoot.ts';
import { freePort } from '../../../server/setup/temporaryCluster.ts';

/** How many processes share the database. */
export interface LabSize {
  readonly servers: number;
  readonly workers: number;
  /** Address of the PostgreSQL database; null: an SQLite file, of one service that also runs the jobs. */
  readonly url: string | null;
  /** Folder in which each process gets a data folder of its own, as on machines that share nothing but the database. */
  readonly folder: string;
}

/** The processes of a lab, any of which may be killed. */
export interface Lab {
  readonly addresses: readonly string[];
  /** Kills one of them without warning and starts it again. */
  killOne(pick: number): Promise<void>;
  /** Ends connections of the database server, of whatever process. Nothing on SQLite. */
  endBackends(share: number): Promise<number>;
  stop(): Promise<void>;
}

const startsWithinMs = 60_000;

/** Starts the built program as often as the size says. @throws Error with what a process wrote where it does not start */
export async function startLab({ servers, workers, url, folder }: LabSize): Promise<Lab> {
  const wanted = await Promise.all(
    Array.from({ length: servers + workers }, async (_, i) => {
      const port = i < servers ? await freePort() : null;
      const data = join(folder, url === null ? 'data' : `machine-${i}`);
      mkdirSync(data, { recursive: true });
      return { port, data };
    }),
  );
  const running: ChildProcess[] = [];
  let ending = false;

  async function start(i: number): Promise<void> {
    const { port, data } = wanted[i];
    const child = spawn(
      process.execPath,
      ['dist/server/commands/main.js', port === null ? 'work' : 'serve'],
      {
        cwd: projectRoot,
        env: {
          ...process.env,
          GEMEL_DATA: data,
          GEMEL_LOG: 'warn',
          GEMEL_PORT: String(port ?? 0),
          GEMEL_WORKERS: workers > 0 && port !== null ? '0' : '1',
          ...(url === null ? {} : { GEMEL_DATABASE: url }),
        },
        stdio: ['ignore', 'ignore', 'pipe'],
      },
    );
    running[i] = child;
    let said = '';
    let ready = false;
    child.stderr.on('data', (piece: Buffer) => {
      said = (said + piece.toString()).slice(-2000);
      ready ||= /gemel (is at|runs)/.test(said);
    });
    const until = performance.now() + startsWithinMs;
    while (!ready) {
      // A process that starts while its connection is ended says so and ends: whoever keeps it running starts it again.
      if (child.exitCode !== null && !ending && url !== null && performance.now() < until) return start(i);
      if (child.exitCode !== null || performance.now() > until)
        throw new Error(`A process of the lab did not start: ${said}`);
      await delay(20);
    }
  }

  async function kill(i: number): Promise<void> {
    const child = running[i];
    if (child.exitCode !== null || child.signalCode !== null) return;
    const ended = new Promise((resolve) => child.once('exit', resolve));
    child.kill('SIGKILL');
    await ended;
  }

  // The first one makes the tables.
  await start(0);
  await Promise.all(wanted.slice(1).map((_, i) => start(i + 1)));
  return {
    addresses: wanted.flatMap(({ port }) => (port === null ? [] : [`http://127.0.0.1:${port}`])),
    killOne: async (pick) => {
      const i = Math.floor(pick * wanted.length);
      await kill(i);
      await start(i);
    },
    endBackends: async (share) => (url === null ? 0 : endBackends(url, share)),
    stop: async () => {
      ending = true;
      await Promise.all(running.map((_, i) => kill(i)));
    },
  };
}

async function endBackends(url: string, share: number): Promise<number> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    const { rows } = await client.query(
      `SELECT pg_terminate_backend(pid) FROM pg_stat_activity
       WHERE datname = current_database() AND pid <> pg_backend_pid() AND random() < $1`,
      [share],
    );
    return rows.length;
  } finally {
    await client.end();
  }
}
