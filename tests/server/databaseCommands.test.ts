import { existsSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { runCommand } from '../support/program.ts';

describe('commands on the database', () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'gemel-commands-'));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  const gemel = (...args: string[]) => runCommand(args, join(folder, 'data'));

  it('add a cell type and a lot and list them for programs on stdout alone', () => {
    const added = gemel(
      'cell-type',
      'add',
      'P1',
      '--chemistry',
      'LFP / graphite',
      '--rated-capacity',
      '1.1',
      '--json',
    );
    expect(added.status).toBe(0);
    expect(JSON.parse(added.stdout)).toMatchObject({
      name: 'P1',
      ratedCapacityAh: 1.1,
      limits: { chargeVoltageLimitV: 3.65 },
    });
    expect(gemel('lot', 'add', 'first', '--cell-type', 'P1').status).toBe(0);
    const listed = gemel('lot', 'list', '--json');
    expect(JSON.parse(listed.stdout).lots).toMatchObject([{ name: 'first', cellTypeName: 'P1' }]);
  });

  it('refuse with exit code 1 and name what is wrong and what would be right', () => {
    const chemistry = gemel('cell-type', 'add', 'P2', '--chemistry', 'unobtainium', '--rated-capacity', '1');
    expect(chemistry.status).toBe(1);
    expect(chemistry.stderr).toContain('LFP / graphite');
    const capacity = gemel(
      'cell-type',
      'add',
      'P2',
      '--chemistry',
      'LFP / graphite',
      '--rated-capacity',
      'two',
    );
    expect(capacity.status).toBe(1);
    expect(capacity.stderr).toContain('rated-capacity (two): not a number; expected for example 2.5');
    const lot = gemel('lot', 'evaluate', 'second');
    expect(lot.status).toBe(1);
    expect(lot.stderr).toContain('one of: first');
  });

  it('answer wrong usage with exit code 2', () => {
    expect(gemel('lot', 'add').status).toBe(2);
    expect(gemel('nonsense').status).toBe(2);
    expect(gemel('--help').status).toBe(0);
  });

  it('show a token once, list it without its text, and revoke it once', () => {
    const made = gemel('token', 'add', 'bench', '--role', 'operator');
    expect(made.stdout).toMatch(/^gemel_[\w-]{43}\n$/);
    const listed = gemel('token', 'list', '--json');
    expect(listed.stdout).not.toContain(made.stdout.trim());
    expect(JSON.parse(listed.stdout).tokens).toMatchObject([
      { name: 'bench', role: 'operator', revokedAt: null },
    ]);
    expect(gemel('token', 'revoke', 'bench').status).toBe(0);
    expect(gemel('token', 'revoke', 'bench').status).toBe(1);
  });

  it('bring back what a backup held, keep the database that was replaced, and refuse a file that is no backup', () => {
    const backup = join(folder, 'backup.sqlite');
    expect(gemel('backup', backup).status).toBe(0);
    expect(gemel('backup', backup).status).toBe(1);
    gemel('lot', 'add', 'after the backup', '--cell-type', 'P1');
    expect(gemel('restore', backup).status).toBe(0);
    expect(
      JSON.parse(gemel('lot', 'list', '--json').stdout).lots.map((lot: { name: string }) => lot.name),
    ).toEqual(['first']);
    expect(readdirSync(join(folder, 'data')).some((name) => name.startsWith('gemel.sqlite.before-'))).toBe(
      true,
    );
    const rubbish = join(folder, 'rubbish.sqlite');
    writeFileSync(rubbish, 'no database');
    const refused = gemel('restore', rubbish);
    expect(refused.status).toBe(1);
    expect(refused.stderr).toContain('Nothing was changed');
    expect(existsSync(join(folder, 'data', 'gemel.sqlite'))).toBe(true);
  });
}, 120_000);
