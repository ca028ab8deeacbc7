import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { projectRoot } from '../../server/projectRoot.ts';

const folder = mkdtempSync(join(tmpdir(), 'gemel-loads-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const pulse = join(folder, 'pulse.csv');
writeFileSync(
  pulse,
  [
    'time_s,voltage_V,current_A',
    ...Array.from(
      { length: 600 },
      (_, k) => `${k / 2},${k >= 100 && k < 160 ? 3.6 : 3.7},${k >= 100 && k < 160 ? -5 : 0}`,
    ),
  ].join('\n'),
);
const cells = join(folder, 'cells.csv');
writeFileSync(
  cells,
  ['serial,capacity_Ah', ...Array.from({ length: 6 }, (_, k) => `C${k},${2.5 + k / 1000}`)].join('\n'),
);
const study = join(folder, 'study.json');
writeFileSync(
  study,
  JSON.stringify({
    schemaVersion: 1,
    cells: [
      {
        name: 'A',
        capacityAh: 2.5,
        soc: [0, 1],
        ocvV: [3.4, 4.2],
        r0Ohm: 0.05,
        startSoc: 0.1,
        datasheet: { maxVoltageV: 4.2, maxChargeCurrentA: 5 },
      },
    ],
    stack: { ambientTemperatureC: 25 },
    phases: { stages: [{ rateC: 1 }] },
  }),
);

/** Every module that one run of the command line loads. */
function loadsOf(args: readonly string[]): { code: number | null; modules: string[] } {
  const list = join(folder, 'loads');
  rmSync(list, { force: true });
  const recorder = pathToFileURL(join(projectRoot, 'tests/support/loads/record.mjs')).href;
  const run = spawnSync(
    process.execPath,
    ['--import', 'tsx', '--import', recorder, join(projectRoot, 'server/commands/main.ts'), ...args],
    { encoding: 'utf8', env: { ...process.env, RECORDED_LOADS: list } },
  );
  return { code: run.status, modules: existsSync(list) ? readFileSync(list, 'utf8').split('\n') : [] };
}

describe('the command line', () => {
  it.each([
    ['--help', null],
    ['evaluate pulse', pulse],
    ['pair', cells],
    ['charge', study],
  ])('opens neither the database nor the web server nor the job runner for %s', (command, file) => {
    const { code, modules } = loadsOf([...command.split(' '), ...(file === null ? [] : [file])]);
    expect(code).toBe(0);
    expect(modules.some((url) => url.endsWith('server/commands/main.ts'))).toBe(true);
    const heavy =
      /better-sqlite3|@prisma|kysely|node_modules\/(express|pg|pino|piscina)\/|server\/(store|routes|jobs)\//;
    expect(modules.filter((url) => heavy.test(url) && !url.endsWith('store/columnKey.ts'))).toEqual([]);
  });

  it('lists its commands without loading any of them', () => {
    const { modules } = loadsOf(['--help']);
    const own = modules.filter((url) => url.includes('/server/')).map((url) => url.split('/server/')[1]);
    expect(
      own.filter(
        (path) => !/^(commands\/(main|program|summaries)|errors|problem|import\/refusedFile)\.ts$/.test(path),
      ),
    ).toEqual([]);
  });
});
