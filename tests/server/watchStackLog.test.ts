import { existsSync, mkdirSync, mkdtempSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeStack } from '../support/loggedStack.ts';
import { runCommand } from '../support/program.ts';
import { stackLogRows, stackLogText, usualBench, usualTruth } from '../support/stackLog.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

describe('a watched folder that a bench writes stack logs to', () => {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-watch-log-'));
  const data = join(folder, 'data');
  const inbox = join(folder, 'inbox');
  let test: TestApp;
  beforeAll(async () => {
    mkdirSync(inbox);
    test = await openTestApp({ GEMEL_DATA: data });
    await makeStack(test.context, 'S-7');
  });
  afterAll(async () => {
    await test.close();
    rmSync(folder, { recursive: true, force: true });
  });

  const put = (name: string, text: string): void => {
    writeFileSync(join(inbox, name), text);
    const old = new Date(Date.now() - 60_000);
    utimesSync(join(inbox, name), old, old);
  };
  const watch = (...options: string[]) =>
    runCommand(
      [
        'watch',
        inbox,
        '--once',
        '--json',
        '--done',
        join(folder, 'done'),
        '--refused',
        join(folder, 'refused'),
        ...options,
      ],
      data,
    );

  it('keeps each with its stack and age, and refuses one whose clock starts again, with nothing of it stored', async () => {
    const rows = stackLogRows(usualTruth, usualBench(51));
    put('charge.csv', stackLogText(rows));
    const again = rows.map((row, i) => (i < 400 ? row : [i - 400, ...row.slice(1)]));
    put('restarted.csv', stackLogText(again));
    const { status, stdout, stderr } = watch('--stack', 'S-7', '--cycle', '120');
    expect(status, stderr).toBe(0);
    const reports = stdout
      .trim()
      .split('\n')
      .map(
        (line) => JSON.parse(line) as { fileName: string; state: string; refusal: { row: number } | null },
      );
    const of = (name: string) => reports.find(({ fileName }) => fileName === name);
    expect(of('charge.csv')).toMatchObject({ state: 'taken', kind: 'stack-log', rowCount: rows.length });
    // Line 1 is the header, so row 400 of the log stands in line 402.
    expect(of('restarted.csv')).toMatchObject({ state: 'refused', refusal: { row: 402 } });
    expect(existsSync(join(folder, 'done', 'charge.csv'))).toBe(true);
    expect(existsSync(join(folder, 'refused', 'restarted.csv'))).toBe(true);
    const logs = await test.context.store.db
      .selectFrom('StackLog')
      .select(['cycle', 'sourceRowFirst', 'sourceRowLast'])
      .execute();
    expect(logs).toEqual([{ cycle: 120, sourceRowFirst: 2, sourceRowLast: rows.length + 1 }]);
  });

  it('refuses a log whose stack nobody knows, by the name that was given', () => {
    put('other.csv', stackLogText(stackLogRows(usualTruth, usualBench(52))));
    const { stdout, stderr } = watch('--stack', 'S-8');
    expect(stdout + stderr).toContain('S-8');
    expect(existsSync(join(folder, 'done', 'other.csv'))).toBe(false);
  });
});
