import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { csvPackage } from '../../server/export/csvPackage.ts';
import { parametersJson } from '../../server/export/parametersJson.ts';
import { projectRoot } from '../../server/projectRoot.ts';
import { findPython } from '../support/python.ts';
import { isMissing } from '../support/required.ts';
import { stackFixture } from './exportFixture.ts';

const page = readFileSync(join(projectRoot, 'server/export/EXPORTS.md'), 'utf8');

/** The example in a language as it is printed in EXPORTS.md. */
function example(language: string): string {
  const found = new RegExp(`\`\`\`${language}\n([\\s\\S]*?)\`\`\``).exec(page)?.[1];
  if (found === undefined) throw new Error(`no example in ${language}`);
  return found;
}

/** Notebooks are tried where they are: a machine without R or pandas is not asked to install them. */
function isAbsent(part: string, present: boolean): boolean {
  if (!present) console.warn(`\n*** SKIPPED: ${part} is not on this machine, so its example is not run.\n`);
  return !present;
}

const rPresent =
  spawnSync('Rscript', ['-e', 'quit(status = !requireNamespace("jsonlite", quietly = TRUE))']).status === 0;
const python = findPython('pandas') ?? findPython('csv');

describe('the notebook examples of EXPORTS.md', () => {
  let folder: string;
  const set = stackFixture();
  const expected = [
    ...set.cells.flatMap((cell) =>
      cell.circuits.flatMap((table) =>
        table.rows.map((row) => [cell.id, table.direction, row.soc, row.r0.value, row.r0.unit]),
      ),
    ),
    ...set.cells.map((cell) => [cell.id, cell.capacity.value]),
  ];
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'gemel-notebook-'));
    writeFileSync(join(folder, 'parameters.json'), parametersJson(set));
    writeFileSync(join(folder, 'package.zip'), csvPackage(set));
  });
  afterAll(() => rmSync(folder, { recursive: true }));

  /** Runs the example and splits what it prints into words, numbers as numbers. */
  function run(command: string, file: string, program: string): (string | number)[][] {
    writeFileSync(join(folder, file), program);
    const inputs = ['parameters.json', 'package.zip'].map((name) => join(folder, name));
    const done = spawnSync(command, [join(folder, file), ...inputs], {
      encoding: 'utf8',
      env: { ...process.env, LC_ALL: 'C.UTF-8' },
    });
    if (done.status !== 0) throw new Error(done.stderr);
    return done.stdout
      .trim()
      .split('\n')
      .map((line) =>
        line
          .trim()
          .split(/\s+/)
          .map((word) => (Number.isNaN(Number(word)) ? word : Number(word))),
      );
  }

  it.skipIf(isMissing('Python', python !== null, 'apt-get install python3'))('read both in Python', () => {
    expect(run(python ?? '', 'example.py', example('python'))).toEqual(expected);
  });

  it.skipIf(isAbsent('Python with pandas', findPython('pandas') !== null))(
    'find the tables readable by pandas with the types that the package states',
    () => {
      const program = [
        'import json, sys, zipfile, pandas',
        'with zipfile.ZipFile(sys.argv[2]) as package:',
        '    table = pandas.read_csv(package.open("tables-over-soc.csv"), float_precision="round_trip")',
        '    for row in table.itertuples(): print(row.cell_id, row.soc, row.tau2_s)',
        '    assert str(table.dtypes["r0_Ohm"]) == "float64" and str(table.dtypes["cell_id"]) == "int64"',
      ].join('\n');
      const rows = set.cells.flatMap((cell) =>
        cell.circuits.flatMap((table) =>
          table.rows.map((row) => [cell.id, row.soc, row.branches[1].tau.value]),
        ),
      );
      expect(run(findPython('pandas') ?? '', 'pandas.example.py', program)).toEqual(rows);
    },
  );

  it.skipIf(isAbsent('R with jsonlite', rPresent))('read both in R', () => {
    const rows = run('Rscript', 'example.R', example('r'));
    expect(rows).toHaveLength(expected.length);
    rows.forEach((row, i) => {
      row.forEach((word, j) => {
        // R prints 15 significant digits.
        const wanted = expected[i][j];
        if (typeof wanted === 'number') expect(Math.abs(Number(word) - wanted)).toBeLessThan(1e-12);
        else expect(word).toBe(wanted);
      });
    });
  });
});
