import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Express } from 'express';
import pino from 'pino';
import { seededRandom } from '../../fitting/statistics/random.ts';
import { localActor } from '../../server/access/identify.ts';
import { createApp } from '../../server/app.ts';
import { type Config, readConfig } from '../../server/config.ts';
import type { Context } from '../../server/context.ts';
import { openStore } from '../../server/store/store.ts';
import { makeTestDatabase } from './testDatabase.ts';

/** The real application on a fresh database, with a clock that stands still until it is moved. */
export interface TestApp {
  readonly app: Express;
  readonly context: Context;
  readonly config: Config;
  readonly folder: string;
  /** The environment in which a command finds this database. */
  readonly variables: Readonly<Record<string, string>>;
  /** Moves the clock on. */
  pass(seconds: number): void;
  close(): Promise<void>;
}

/** Opens a {@link TestApp}; answers are checked against their schemas. */
export async function openTestApp(variables: Record<string, string> = {}): Promise<TestApp> {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-'));
  const database = await makeTestDatabase(variables.GEMEL_DATA ?? folder);
  const config = readConfig({ GEMEL_DATA: folder, ...database.variables, ...variables });
  const store = await openStore(config.database);
  let nowMs = Date.parse('2026-02-01T08:00:00.000Z');
  const base = { store, now: () => new Date(nowMs), random: seededRandom(7) };
  const app = createApp({
    config,
    base,
    log: pino({ level: 'error' }, pino.destination(2)),
    checkAnswers: true,
  });
  return {
    app,
    config,
    folder,
    variables: { GEMEL_DATA: folder, ...database.variables },
    context: { ...base, actor: localActor },
    pass: (seconds) => {
      nowMs += seconds * 1000;
    },
    close: async () => {
      await store.close();
      await database.remove();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
