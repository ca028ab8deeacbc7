import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { registerExport } from '../../server/commands/export.ts';
import { createProgram, runProgram } from '../../server/commands/program.ts';
import { selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { type FilledStore, fillStore } from './exportStore.ts';

describe('gemel export', () => {
  let test: TestApp;
  let filled: FilledStore;
  let folder: string;
  beforeAll(async () => {
    test = await openTestApp();
    filled = await fillStore(test.context);
    folder = mkdtempSync(join(tmpdir(), 'gemel-export-'));
    for (const [name, value] of Object.entries(test.variables)) vi.stubEnv(name, value);
  });
  afterAll(async () => {
    vi.unstubAllEnvs();
    rmSync(folder, { recursive: true });
    await test.close();
  });

  /** Runs the command line in this process and returns its exit code and what it wrote. */
  async function run(...argv: string[]): Promise<{ code: number; out: string; err: string }> {
    const written = { out: '', err: '' };
    const out = vi.spyOn(process.stdout, 'write').mockImplementation((text) => {
      written.out += String(text);
      return true;
    });
    const err = vi.spyOn(process.stderr, 'write').mockImplementation((text) => {
      written.err += String(text);
      return true;
    });
    const program = createProgram();
    registerExport(program);
    try {
      return { code: await runProgram(program, ['export', ...argv]), ...written };
    } finally {
      out.mockRestore();
      err.mockRestore();
    }
  }

  it('writes a file by the name of its subject, records it and says so as JSON', async () => {
    const done = await run('spice-test-bench', 'stack', 'Stapel "7"/links', '--out', folder, '--json');
    expect(done.code).toBe(0);
    expect(done.err).toBe('');
    const told = JSON.parse(done.out);
    expect(told).toMatchObject({ format: 'spice-test-bench', subjectId: filled.stackId, createdBy: 'local' });
    expect(told.path).toBe(join(folder, 'Stapel-7-links-charge.cir'));
    expect(readFileSync(told.path)).toHaveLength(told.bytes);
    const entry = await selectOne<{ sha256: string }>(
      test.context.store,
      'SELECT sha256 FROM Export WHERE id = ?',
      told.id,
    );
    expect(entry?.sha256).toBe(told.sha256);
  });

  it('takes a cell by serial and lot, and never writes over a file', async () => {
    const file = join(folder, 'cell.json');
    const argv = ['parameters-json', 'cell', 'B-002', '--lot', 'Los "A", Teil 1/2', '--out', file];
    const done = await run(...argv);
    expect(done.code).toBe(0);
    expect(done.out).toContain(`Wrote ${file}: `);
    const before = readFileSync(file);
    const again = await run(...argv);
    expect(again.code).toBe(1);
    expect(again.err).toContain('is there already; nothing was written');
    expect(readFileSync(file)).toEqual(before);
  });

  it('refuses with exit 1 and the reason where a cell has no fit, leaving no file', async () => {
    const present = readdirSync(folder).length;
    const done = await run('c-header', 'cell', String(filled.bareCellId), '--out', folder);
    expect(done.code).toBe(1);
    expect(done.err).toContain('cell "C-003": circuit model (discharge pulses)');
    expect(readdirSync(folder)).toHaveLength(present);
  });

  it('refuses an unknown format, kind or subject by name, and wrong usage with exit 2', async () => {
    const format = await run('parameters-xml', 'cell', '1');
    expect([format.code, format.err]).toEqual([
      1,
      expect.stringContaining('one of: parameters-json, parameters-compact-json, csv-package'),
    ]);
    const subject = await run('parameters-json', 'lot', 'nowhere', '--out', folder);
    expect([subject.code, subject.err]).toEqual([1, expect.stringContaining('There is no lot nowhere.')]);
    expect((await run('parameters-json')).code).toBe(2);
    expect(existsSync(join(folder, 'nowhere-parameters.json'))).toBe(false);
  });
});
