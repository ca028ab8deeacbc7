import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sql } from 'kysely';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { seededRandom } from '../../../fitting/statistics/random.ts';
import { localActor } from '../../../server/access/identify.ts';
import { inOrder } from '../../../server/inOrder.ts';
import { findRecord, readRecord } from '../../../server/store/records.ts';
import { openStore, type Store } from '../../../server/store/store.ts';
import { tableNames } from '../../../server/store/wholeTables.ts';
import { moveDatabase } from '../../../server/use-cases/database/moveDatabase.ts';
import { addDefaultChemistries } from '../../../server/use-cases/register/addDefaultChemistries.ts';
import { makeTestDatabase, type TestDatabase } from '../../support/testDatabase.ts';
import { fillStore, importPulseFile } from '../exportStore.ts';

const folder = mkdtempSync(join(tmpdir(), 'gemel-move-'));
let desk: Store;
let lab: Store;
let database: TestDatabase;
let testId: number;
beforeAll(async () => {
  desk = await openStore(join(folder, 'desk.sqlite'));
  database = await makeTestDatabase(folder);
  lab = await openStore(database.place);
  const now = () => new Date('2026-02-01');
  const context = { store: desk, now, random: seededRandom(7), actor: localActor };
  await addDefaultChemistries(context);
  await addDefaultChemistries({ ...context, store: lab });
  await fillStore(context);
  const { name } = await desk.db.selectFrom('Lot').select('name').executeTakeFirstOrThrow();
  testId = await importPulseFile(context, name);
  // A row whose identifier was given out and is gone again.
  await desk.db.insertInto('Upload').values({ id: 'waiting', receivedAt: '' }).execute();
  const piece = { uploadId: 'waiting', position: 0, data: new Uint8Array([0, 255, 10]) };
  await desk.db.insertInto('UploadPiece').values(piece).execute();
  await desk.db.insertInto('NamePattern').values({ name: 'gone', pattern: '', createdAt: '' }).execute();
  await desk.db.deleteFrom('NamePattern').execute();
});
afterAll(async () => {
  await desk.close();
  await lab.close();
  await database.remove();
  rmSync(folder, { recursive: true });
});

const silent = () => {};

describe('a move', () => {
  it('knows every table of both databases', async () => {
    const inFile = sql<{ name: string }>`select name from sqlite_master where type = 'table'`;
    const onServer = sql<{ name: string }>`
      select table_name::text as name from information_schema.tables where table_schema = 'public'`;
    for (const { rows } of [await inFile.execute(desk.db), await onServer.execute(lab.db)]) {
      const names = rows.map(({ name }) => name).filter((name) => !/^_prisma|^sqlite_/.test(name));
      // What is being stored in pieces is not copied, nor what says so.
      expect(names.sort()).toEqual([...tableNames, 'IncomingFile', 'IncomingChange', 'LotChange'].sort());
    }
  });

  it('brings everything to PostgreSQL and back, equal in number and hash, with samples bit for bit', async () => {
    const told: number[] = [];
    const there = await moveDatabase(desk, lab, false, (done, of) => told.push(done / of));
    expect(there.outcome).toBe('copied');
    expect(told.at(-1)).toBe(1);
    expect(there.tables.find(({ table }) => table === 'RecordChunk')?.rows).toBeGreaterThan(0);
    const again = await openStore(join(folder, 'back.sqlite'));
    const back = await moveDatabase(lab, again, false, silent);
    expect(back.tables).toEqual(there.tables);
    const samples = await inOrder([desk, lab, again], async (store) => {
      const record = await findRecord(store, testId);
      return record && (await readRecord(store, record));
    });
    expect(samples[0]?.timeS.length).toBeGreaterThan(100);
    expect(samples[1]).toEqual(samples[0]);
    expect(samples[2]).toEqual(samples[0]);
    await again.close();
  });

  it('gives out no identifier again that its source had given out', async () => {
    const row = lab.db.insertInto('NamePattern').values({ name: 'new', pattern: '', createdAt: '' });
    const { id } = await row.returning('id').executeTakeFirstOrThrow();
    expect(id).toBe(2);
    await lab.db.deleteFrom('NamePattern').execute();
  });

  it('can be repeated: what is the same already stays', async () => {
    expect((await moveDatabase(desk, lab, false, silent)).outcome).toBe('same');
  });

  it('refuses a database with other work, and replaces it where that is asked for', async () => {
    await lab.db.updateTable('Lot').set({ note: 'changed meanwhile' }).execute();
    await expect(moveDatabase(desk, lab, false, silent)).rejects.toMatchObject({ code: 'conflict' });
    const notes = await lab.db.selectFrom('Lot').select('note').execute();
    expect(notes.every(({ note }) => note === 'changed meanwhile')).toBe(true);
    expect((await moveDatabase(desk, lab, true, silent)).outcome).toBe('copied');
    expect((await moveDatabase(desk, lab, false, silent)).outcome).toBe('same');
  });
});
