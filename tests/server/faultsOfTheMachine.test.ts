import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { connect, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openStore } from '../../server/store/store.ts';
import { type RealService, startRealService } from '../support/realService.ts';
import { makeLot } from './importLot.ts';

// What the machine may lack while the real program runs on it; server/store/FAULTS.md lists all faults with their tests.

let folder: string;
let service: RealService | null = null;
beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'gemel-faults-'));
  mkdirSync(join(folder, 'data'));
  const store = await openStore(join(folder, 'data', 'gemel.sqlite'));
  await makeLot(store, 'L');
  await store.close();
});
afterEach(async () => {
  await service?.end();
  service = null;
  spawnSync('umount', ['-l', join(folder, 'tmp')], { stdio: 'ignore' });
  rmSync(folder, { recursive: true, force: true });
});

async function start(how: Parameters<typeof startRealService>[1]): Promise<string> {
  service = await startRealService(join(folder, 'data'), how);
  return service.address;
}

async function ask(url: string, body?: unknown): Promise<Record<string, unknown>> {
  const response = await fetch(url, {
    method: body === undefined ? 'GET' : 'POST',
    headers: { 'Content-Type': typeof body === 'string' ? 'text/csv' : 'application/json' },
    ...(body !== undefined && { body: typeof body === 'string' ? body : JSON.stringify(body) }),
  });
  const answer = (await response.json()) as Record<string, unknown>;
  expect(response.status, JSON.stringify(answer)).toBeLessThan(300);
  return answer;
}

const addCell = (address: string, serial: string) => ask(`${address}/cells`, { lotId: 1, serial, note: '' });

async function serials(address: string): Promise<unknown[]> {
  const { items } = await ask(`${address}/cells?limit=500`);
  return (items as { serial: string }[]).map(({ serial }) => serial);
}

/** Imports a table of cells and waits for its job. */
async function importTable(address: string, first: number, cells: number): Promise<unknown> {
  const rows = Array.from({ length: cells }, (_, i) => `T-${first + i},2.1,20`);
  const text = `serial,capacity_Ah,resistance_10s_mohm\n${rows.join('\n')}\n`;
  const { id } = await ask(`${address}/imports?lot=L&name=t-${first}.csv`, text);
  for (let tries = 0; tries < 600; tries++) {
    const { state, error, result } = await ask(`${address}/jobs/${id}`);
    if (state === 'failed') throw new Error(String(error));
    if (state === 'done') return (result as { reports: { state: string }[] }).reports[0].state;
    await delay(50);
  }
  throw new Error('The import did not end.');
}

describe('the service', () => {
  it('with few file handles outlives more connections than it can hold, loses nothing and goes on once they are gone', async () => {
    const address = await start({ mostFiles: 200 });
    await addCell(address, 'before');
    const { port } = new URL(address);
    const sockets: Socket[] = [];
    for (let i = 0; i < 400; i++) {
      const socket = connect(Number(port), '127.0.0.1');
      socket.on('error', () => {});
      sockets.push(socket);
    }
    await delay(500);
    const meanwhile = await addCell(address, 'meanwhile').then(
      () => ['meanwhile'],
      () => [],
    );
    expect(service?.process.exitCode).toBeNull();
    for (const socket of sockets) socket.destroy();
    await delay(300);
    expect(await importTable(address, 100, 50)).toBe('taken');
    await addCell(address, 'after');
    expect(await serials(address)).toEqual(
      expect.arrayContaining(['before', 'after', 'T-149', ...meanwhile]),
    );
  });

  const mountFull = (): boolean => {
    const path = join(folder, 'tmp');
    mkdirSync(path);
    if (spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=64k', 'tmpfs', path]).status !== 0) return false;
    spawnSync('dd', ['if=/dev/zero', `of=${join(path, 'full')}`, 'bs=4k'], { stdio: 'ignore' });
    return true;
  };

  it('needs no room in the folder for temporary files: it imports, sorts and backs up while that is full', async (context) => {
    if (!mountFull()) return context.skip('A small disk cannot be mounted here.');
    const full = join(folder, 'tmp');
    const temporary = { TMPDIR: full, SQLITE_TMPDIR: full, TMP: full, TEMP: full };
    // The loader of the sources keeps its own cache there; the built program has none.
    const address = await start({ variables: { ...temporary, TSX_DISABLE_CACHE: '1' } });
    expect(await importTable(address, 100, 3000)).toBe('taken');
    const { items } = await ask(`${address}/lots/1/cells?limit=3&sort=capacity&columns=capacity`);
    expect(items).toHaveLength(3);
    const { id } = await ask(`${address}/backups`, {});
    let state: unknown = 'waiting';
    for (let tries = 0; tries < 200 && (state === 'waiting' || state === 'running'); tries++) {
      await delay(50);
      ({ state } = await ask(`${address}/jobs/${id}`));
    }
    expect(state).toBe('done');
  });

  it('goes on where its clock is set back by a day: jobs, live samples, undoing, nothing lost', async () => {
    const offset = join(folder, 'offset');
    writeFileSync(offset, '0');
    // A clock of its own: the machine's serves others.
    const clock = join(folder, 'clock.mjs');
    writeFileSync(
      clock,
      `import { readFileSync } from 'node:fs';
      const RealDate = Date;
      const ms = () => RealDate.now() + Number(readFileSync(${JSON.stringify(offset)}, 'utf8'));
      globalThis.Date = class extends RealDate {
        constructor(...given) { super(...(given.length === 0 ? [ms()] : given)); }
        static now() { return ms(); }
      };`,
    );
    const address = await start({ variables: { NODE_OPTIONS: `--import ${clock}` } });
    const cell = await addCell(address, 'before');
    const { testId } = await ask(`${address}/cells/${cell.id}/live-tests`, { kind: 'rest' });
    const samples = (firstRow: number) => ({
      firstRow,
      timeS: [firstRow, firstRow + 1],
      voltageV: [3.6, 3.6],
      currentA: [0, 0],
    });
    const append = async (firstRow: number) => {
      const response = await fetch(`${address}/tests/${testId}/samples`, {
        method: 'POST',
        headers: { 'Content-Type': 'application/json', 'Idempotency-Key': `rows-${firstRow}` },
        body: JSON.stringify(samples(firstRow)),
      });
      return { status: response.status, ...((await response.json()) as Record<string, unknown>) };
    };
    expect(await append(0)).toMatchObject({ rowCount: 2 });
    expect(await importTable(address, 100, 20)).toBe('taken');
    writeFileSync(offset, String(-24 * 3_600_000));
    const later = await addCell(address, 'after');
    expect(Date.parse(String(later.createdAt))).toBeLessThan(Date.parse(String(cell.createdAt)));
    expect(await append(2)).toMatchObject({ rowCount: 4 });
    expect(await append(2)).toMatchObject({ rowCount: 4, repeated: true });
    expect(await importTable(address, 200, 20)).toBe('taken');
    const { items } = await ask(`${address}/imports`);
    const [second] = items as { sourceFileId: number; fileName: string }[];
    expect(second.fileName).toBe('t-200.csv');
    expect(await ask(`${address}/imports/${second.sourceFileId}/undo`, {})).toMatchObject({
      state: 'undone',
    });
    const there = await serials(address);
    expect(there).toHaveLength(22);
    expect(there).toEqual(expect.arrayContaining(['before', 'after', 'T-100', 'T-119']));
  });
});
