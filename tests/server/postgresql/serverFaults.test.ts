import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { connect, createServer, type Server, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sql } from 'kysely';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { toRefusal } from '../../../server/problem.ts';
import { openStore, type Store } from '../../../server/store/store.ts';
import {
  makeTestDatabase,
  onServer,
  type TestDatabase,
  templateName,
  urlOf,
} from '../../support/testDatabase.ts';

// What a server does to its clients when it fails; server/store/FAULTS.md lists all faults with their tests.

const folder = mkdtempSync(join(tmpdir(), 'gemel-server-faults-'));
let database: TestDatabase;
beforeAll(async () => {
  database = await makeTestDatabase(folder);
});
afterAll(async () => {
  await database.remove();
  rmSync(folder, { recursive: true, force: true });
});

const pattern = (name: string, text = '') => ({ name, pattern: text, createdAt: '' });

const add = (store: Store, name: string, text = '') =>
  store.transaction(
    async ({ db }) => void (await db.insertInto('NamePattern').values(pattern(name, text)).execute()),
  );

const names = async (store: Store) =>
  (await store.db.selectFrom('NamePattern').select('name').orderBy('name').execute()).map(({ name }) => name);

/** How work was refused; fails where it was not. */
async function refusalOf(work: Promise<unknown>): Promise<{ code: string; status: number }> {
  const error = await work.then(
    () => null,
    (thrown: unknown) => thrown,
  );
  expect(error).not.toBeNull();
  return toRefusal(error);
}

/** A way to the server of the tests that can be cut and mended, as the server's end and start are seen by its clients. */
class Way {
  private readonly open = new Set<Socket>();
  private server: Server | null = null;
  private port = 0;
  private readonly to = new URL(urlOf('postgres'));

  async mend(): Promise<void> {
    const server = createServer((client) => {
      const there = connect(Number(this.to.port), this.to.hostname);
      for (const [one, other] of [
        [client, there],
        [there, client],
      ] as const) {
        this.open.add(one);
        one.on('error', () => other.destroy());
        one.on('close', () => other.destroy());
        one.pipe(other);
      }
    });
    await new Promise<void>((resolve) => server.listen(this.port, '127.0.0.1', resolve));
    this.port = (server.address() as { port: number }).port;
    this.server = server;
  }

  async cut(): Promise<void> {
    const closed = new Promise((resolve) => this.server?.close(resolve));
    for (const socket of this.open) socket.destroy();
    this.open.clear();
    await closed;
  }

  url(name: string): string {
    const url = new URL(urlOf(name));
    url.port = String(this.port);
    return url.toString();
  }
}

describe('a PostgreSQL server', () => {
  const nameOf = () => new URL(database.variables.GEMEL_DATABASE).pathname.slice(1);

  it('that may only be read, as a standby, is named; reads go on, and writes again when it may be written', async () => {
    const name = nameOf();
    const before = await openStore(database.place);
    await add(before, 'before');
    await before.close();
    await onServer(`ALTER DATABASE ${name} SET default_transaction_read_only = on`);
    const store = await openStore(database.place);
    expect(await refusalOf(add(store, 'meanwhile'))).toMatchObject({ code: 'storage-read-only' });
    expect(await names(store)).toEqual(['before']);
    await onServer(`ALTER DATABASE ${name} RESET default_transaction_read_only`);
    await onServer(`SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '${name}'`);
    await add(store, 'after');
    expect(await names(store)).toEqual(['after', 'before']);
    await store.close();
  });

  it('that is stopped is named; what was acknowledged is there when it is started, and work goes on', async () => {
    const way = new Way();
    await way.mend();
    const store = await openStore({ kind: 'postgresql', url: way.url(nameOf()), folder });
    await add(store, 'stopped-before');
    // A transaction that is under way when the server goes stores nothing.
    const underWay = store.transaction(async ({ db }) => {
      await db.insertInto('NamePattern').values(pattern('under-way')).execute();
      await way.cut();
      await sql`select 1`.execute(db);
    });
    expect(await refusalOf(underWay)).toMatchObject({ code: 'storage-unreachable', status: 503 });
    expect(await refusalOf(add(store, 'stopped'))).toMatchObject({
      code: 'storage-unreachable',
      status: 503,
    });
    expect(await refusalOf(names(store))).toMatchObject({ code: 'storage-unreachable', status: 503 });
    await way.mend();
    await add(store, 'started');
    expect(await names(store)).toEqual(expect.arrayContaining(['started', 'stopped-before']));
    expect(await names(store)).not.toContain('under-way');
    expect(await names(store)).not.toContain('stopped');
    await store.close();
    await way.cut();
  });

  it('whose disk is full is named; reads go on, what was acknowledged stays, and writes go on once there is room', async (context) => {
    const disk = mkdtempSync(join(tmpdir(), 'gemel-server-disk-'));
    if (spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=40m', 'tmpfs', disk]).status !== 0) {
      rmSync(disk, { recursive: true, force: true });
      return context.skip('A small disk cannot be mounted here.');
    }
    try {
      spawnSync('chown', ['postgres', disk]);
      await onServer(`CREATE TABLESPACE small_disk LOCATION '${disk}'`);
      await onServer(`CREATE DATABASE on_small_disk TEMPLATE ${templateName} TABLESPACE small_disk`);
      const store = await openStore({ kind: 'postgresql', url: urlOf('on_small_disk'), folder });
      await add(store, 'before');
      spawnSync('dd', ['if=/dev/zero', `of=${join(disk, 'other-file')}`, 'bs=64k'], { stdio: 'ignore' });
      const stored = ['before'];
      let refused: { code: string; status: number } | null = null;
      // Of random letters, which are not packed.
      const long = (i: number) =>
        Array.from({ length: 4000 }, (_, k) => String.fromCharCode(33 + ((i * 7919 + k * k * 31) % 90))).join(
          '',
        );
      for (let i = 0; i < 400 && refused === null; i++) {
        const name = `n-${1000 + i}`;
        try {
          await add(store, name, long(i));
          stored.push(name);
        } catch (error) {
          refused = toRefusal(error);
        }
      }
      expect(refused).toMatchObject({ code: 'storage-full', status: 507 });
      expect(await names(store)).toEqual(stored);
      rmSync(join(disk, 'other-file'));
      await add(store, 'z-after', long(1));
      expect(await names(store)).toEqual([...stored, 'z-after']);
      await store.close();
    } finally {
      await onServer('DROP DATABASE IF EXISTS on_small_disk WITH (FORCE)');
      await onServer('DROP TABLESPACE IF EXISTS small_disk');
      spawnSync('umount', ['-l', disk]);
      rmSync(disk, { recursive: true, force: true });
    }
  });
});
