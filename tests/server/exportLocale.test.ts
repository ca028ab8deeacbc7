import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { projectRoot } from '../../server/projectRoot.ts';

/** Prints the SHA-256 of every format of the fixture, in a process of its own. */
const program = `
import { createHash } from 'node:crypto';
const at = (path) => import(${JSON.stringify(`file://${projectRoot}/`)} + path);
const { stackFixture } = await at('tests/server/exportFixture.ts');
const { circuitSubjectOf } = await at('server/export/circuitSubject.ts');
const { benchChargeOf } = await at('server/export/benchCharge.ts');
const set = stackFixture();
const subject = circuitSubjectOf(set);
const record = { testId: 1, label: '', cell: 'a', columns: [{ name: 'time', unit: 's', values: Float64Array.of(0.5, 1234567.25) }] };
const written = [
  (await at('server/export/parametersJson.ts')).parametersJson(set),
  (await at('server/export/csvPackage.ts')).csvPackage(set, [record]),
  (await at('server/export/spiceTestBench.ts')).spiceTestBench(subject, benchChargeOf(subject.cells)),
  (await at('server/export/cHeader.ts')).cHeader(subject),
  (await at('server/export/recordCsv.ts')).recordCsv(record),
  await (await at('server/export/recordParquet.ts')).recordParquet(record),
];
console.log(written.map((data) => createHash('sha256').update(data).digest('hex')).join('\\n'));
`;

function hashes(environment: Record<string, string>): string[] {
  const run = spawnSync(process.execPath, ['--import', 'tsx', '--input-type=module', '-e', program], {
    cwd: join(projectRoot),
    encoding: 'utf8',
    env: { ...process.env, ...environment },
  });
  if (run.status !== 0) throw new Error(run.stderr);
  return run.stdout.trim().split('\n');
}

describe('exports', () => {
  it('are the same bytes in every locale and time zone', () => {
    const here = hashes({ TZ: 'UTC', LANG: 'C', LC_ALL: 'C' });
    expect(here).toHaveLength(6);
    expect(hashes({ TZ: 'Pacific/Auckland', LANG: 'de_DE.UTF-8', LC_ALL: 'de_DE.UTF-8' })).toEqual(here);
  });
});
