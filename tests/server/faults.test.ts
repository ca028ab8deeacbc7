import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { projectRoot } from '../../server/projectRoot.ts';
import { openStore } from '../../server/store/store.ts';
import { runCommand } from '../support/program.ts';
import { type RealService, startRealService } from '../support/realService.ts';
import { makeLot } from './importLot.ts';

// The real program on a real machine that fails it; server/store/FAULTS.md lists all faults with their tests.

/** Whether this user may mount a small disk of its own. */
const mounts = ((): boolean => {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-mount-'));
  const done = spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=1m', 'tmpfs', folder]).status === 0;
  if (done) spawnSync('umount', [folder]);
  rmSync(folder, { recursive: true, force: true });
  if (!done)
    console.warn(
      'A small disk cannot be mounted here: the tests of a full and of a read-only disk are skipped.',
    );
  return done;
})();

describe('the service', () => {
  let folder: string;
  let services: RealService[] = [];
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'gemel-faults-'));
    mkdirSync(join(folder, 'data'));
    services = [];
  });
  afterEach(async () => {
    for (const service of services) await service.end();
    if (mounts) spawnSync('umount', ['-l', join(folder, 'data')], { stdio: 'ignore' });
    rmSync(folder, { recursive: true, force: true });
  });

  const database = () => join(folder, 'data', 'gemel.sqlite');

  async function prepare(): Promise<void> {
    const store = await openStore(database());
    await makeLot(store, 'L');
    await store.close();
  }

  /** Starts the real service and returns its address. */
  async function start(): Promise<string> {
    const service = await startRealService(join(folder, 'data'));
    services.push(service);
    return service.address;
  }

  const addCell = async (address: string, serial: string) => {
    const response = await fetch(`${address}/cells`, {
      method: 'POST',
      headers: { 'Content-Type': 'application/json' },
      body: JSON.stringify({ lotId: 1, serial, note: '' }),
    });
    return { status: response.status, body: (await response.json()) as { code?: string; detail?: string } };
  };

  const serials = async (address: string): Promise<string[]> => {
    const response = await fetch(`${address}/cells?limit=500`);
    expect(response.status).toBe(200);
    return ((await response.json()) as { items: { serial: string }[] }).items.map(({ serial }) => serial);
  };

  it('goes on reading while another process holds the database for writing, and writes once it is free', async () => {
    await prepare();
    const address = await start();
    expect((await addCell(address, 'before')).status).toBe(201);
    const hold = `const Database = require('better-sqlite3'); const db = new Database(${JSON.stringify(database())});
      db.exec('BEGIN IMMEDIATE'); console.log('held'); process.stdin.on('data', () => { db.exec('ROLLBACK'); process.exit(0); });`;
    const holder = spawn(process.execPath, ['-e', hold], {
      cwd: projectRoot,
      stdio: ['pipe', 'pipe', 'inherit'],
    });
    await once(holder.stdout, 'data');
    let written = false;
    const writing = addCell(address, 'meanwhile').then((answer) => {
      written = true;
      return answer;
    });
    for (let i = 0; i < 20; i++) expect(await serials(address)).toEqual(['before']);
    expect(written).toBe(false);
    holder.stdin.write('go\n');
    expect((await writing).status).toBe(201);
    expect(await serials(address)).toEqual(['before', 'meanwhile']);
  });

  it.runIf(mounts)(
    'on a full disk refuses by that name, still reads, keeps what it acknowledged, and goes on once there is room',
    async () => {
      spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=12m', 'tmpfs', join(folder, 'data')]);
      await prepare();
      const address = await start();
      expect((await addCell(address, 'before')).status).toBe(201);
      const fill = join(folder, 'data', 'other-file');
      spawnSync('dd', ['if=/dev/zero', `of=${fill}`, 'bs=64k'], { stdio: 'ignore' });
      const acknowledged = ['before'];
      let refused: { status: number; body: { code?: string; detail?: string } } | null = null;
      for (let i = 0; i < 200 && refused === null; i++) {
        const answer = await addCell(address, `cell-${100 + i}`);
        if (answer.status === 201) acknowledged.push(`cell-${100 + i}`);
        else refused = answer;
      }
      expect(refused).toMatchObject({
        status: 507,
        body: { code: 'storage-full', detail: expect.stringContaining('Make room') },
      });
      expect((await serials(address)).sort()).toEqual([...acknowledged].sort());
      rmSync(fill);
      expect((await addCell(address, 'after')).status).toBe(201);
      expect((await serials(address)).sort()).toEqual([...acknowledged, 'after'].sort());
    },
  );

  it.runIf(mounts)(
    'on a disk that became read-only names it, still reads, and goes on once it may write',
    async () => {
      const data = join(folder, 'data');
      spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=8m', 'tmpfs', data]);
      await prepare();
      // A remount is refused while a file is open for writing, so the service starts on the read-only disk.
      spawnSync('mount', ['-o', 'remount,ro', data]);
      const started = runCommand(['lot', 'list', '--json'], data);
      expect(started.status).toBe(1);
      expect(started.stderr + started.stdout).toMatch(/may not be written|cannot be opened/);
      spawnSync('mount', ['-o', 'remount,rw', data]);
      const address = await start();
      expect((await addCell(address, 'after')).status).toBe(201);
    },
  );

  it('writes beside a second service on the same folder, and neither loses what it acknowledged', async () => {
    await prepare();
    const first = await start();
    const second = await start();
    const added = await Promise.all(
      Array.from({ length: 40 }, async (_, i) => addCell(i % 2 === 0 ? first : second, `cell-${100 + i}`)),
    );
    expect(added.map(({ status }) => status)).toEqual(added.map(() => 201));
    expect(await serials(first)).toEqual(await serials(second));
    expect(await serials(first)).toHaveLength(40);
  });

  it('does not start on a file that was cut off, names the way out, and leaves the file as it is', async () => {
    await prepare();
    writeFileSync(database(), Buffer.alloc(40_000, 7));
    await expect(start()).rejects.toThrow(/is damaged.*gemel restore/s);
    expect(readFileSync(database())).toEqual(Buffer.alloc(40_000, 7));
  });
});
