import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { registerBackup, registerRestore } from '../../server/commands/backup.ts';
import { registerCharge } from '../../server/commands/charge.ts';
import { registerPair } from '../../server/commands/pair.ts';
import { createProgram, runProgram } from '../../server/commands/program.ts';
import { readConfig } from '../../server/config.ts';
import { serve } from '../../server/main.ts';
import { openStore } from '../../server/store/store.ts';

describe('a command that is used wrongly', () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'gemel-wrong-'));
    vi.stubEnv('GEMEL_DATA', join(folder, 'data'));
  });
  afterAll(() => {
    vi.unstubAllEnvs();
    rmSync(folder, { recursive: true });
  });

  const write = (name: string, text: string) => {
    const path = join(folder, name);
    writeFileSync(path, text);
    return path;
  };

  async function gemel(...argv: string[]): Promise<{ code: number; err: string }> {
    let err = '';
    const spies = [
      vi.spyOn(process.stdout, 'write').mockReturnValue(true),
      vi.spyOn(process.stderr, 'write').mockImplementation((text) => {
        err += text;
        return true;
      }),
    ];
    try {
      const program = createProgram();
      for (const register of [registerPair, registerCharge, registerBackup, registerRestore])
        register(program);
      return { code: await runProgram(program, argv), err };
    } finally {
      for (const spy of spies) spy.mockRestore();
    }
  }

  it('names the cells whose values cannot be', async () => {
    const { code, err } = await gemel(
      'pair',
      write('negative.csv', 'serial,capacity_mAh\nA,-2000\nB,2000\nC,0\n'),
    );
    // Values that cannot be are named and never paired.
    expect(code).toBe(0);
    expect(err).toContain('implausible-value: capacity: A, C');
  });

  it('is told once why a file cannot be read, in plain words', async () => {
    const none = join(folder, 'none.json');
    for (const argv of [
      ['pair', none],
      ['charge', none],
      ['pair', write('two.csv', 'serial,capacity_Ah\n1,2\n2,2\n'), '--criteria', none],
    ])
      expect(await gemel(...argv)).toEqual({
        code: 1,
        err: `value "${none}": There is no such file. Give the path of a readable text file.\n`,
      });
    expect((await gemel('charge', folder)).err).toMatch(/This is a folder, not a file/);
    const broken = await gemel('charge', write('broken.json', '{"cells": [\n'));
    expect(broken.err).toMatch(/broken\.json is not valid JSON: .*expected a JSON document/s);
  });

  it('restores no folder, and writes no backup where none can be', async () => {
    expect((await gemel('restore', folder)).err).toMatch(/cannot be restored: it is a folder, not a file/);
    const blocked = join(write('plain', ''), 'backup.sqlite');
    const { code, err } = await gemel('backup', blocked);
    expect(code).toBe(1);
    expect(err).toContain(`The backup cannot be written to ${blocked}`);
  });
});

describe('a service that cannot start', () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'gemel-start-'));
  });
  afterAll(() => rmSync(folder, { recursive: true }));

  it('names the port that another program has, and how to choose another', async () => {
    const first = await serve(readConfig({ GEMEL_DATA: join(folder, 'one'), GEMEL_PORT: '0' }));
    const { port } = new URL(first.address);
    const second = serve(readConfig({ GEMEL_DATA: join(folder, 'two'), GEMEL_PORT: port }));
    await expect(second).rejects.toMatchObject({
      places: [{ field: 'GEMEL_PORT', value: port, expected: 'a free port; 0 takes one' }],
    });
    await first.stop();
  });

  it('names every setting that cannot be used, with what would be right', () => {
    expect(() => readConfig({ GEMEL_PORT: '80a', GEMEL_TOKEN_REQUIRED: 'yes' })).toThrow(
      expect.objectContaining({
        places: [
          { field: 'GEMEL_PORT', row: null, value: '"80a"', reason: 'is not a number', expected: 'a number' },
          expect.objectContaining({ field: 'GEMEL_TOKEN_REQUIRED', expected: 'one of: 0, 1' }),
        ],
      }),
    );
  });

  it('names the file that is no database or damaged, and leaves it as it is', async () => {
    mkdirSync(join(folder, 'three'));
    const file = join(folder, 'three', 'gemel.sqlite');
    const store = await openStore(join(folder, 'whole.sqlite'));
    await store.close();
    const whole = readFileSync(join(folder, 'whole.sqlite'));
    for (const bytes of [Buffer.from('no database at all, but text'), whole.subarray(0, 40_000)]) {
      writeFileSync(file, bytes);
      const refused = openStore(file);
      await expect(refused).rejects.toMatchObject({
        code: 'storage-damaged',
        message: expect.stringMatching(/gemel\.sqlite: .*gemel restore FILE/),
      });
      expect(readFileSync(file).equals(bytes)).toBe(true);
    }
  });

  it('names the folder that cannot be made', async () => {
    const blocked = join(folder, 'whole.sqlite', 'data');
    await expect(openStore(join(blocked, 'gemel.sqlite'))).rejects.toMatchObject({
      code: 'storage-read-only',
      places: [expect.objectContaining({ field: 'GEMEL_DATA', value: blocked })],
    });
  });
});
