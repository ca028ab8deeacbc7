import { spawn } from 'node:child_process';
import {
  appendFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  rmSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import { gzipSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStore } from '../../server/store/store.ts';
import { programArguments, runCommand } from '../support/program.ts';
import { makeLot } from './importLot.ts';

const folder = mkdtempSync(join(tmpdir(), 'gemel-commands-'));
const files = join(folder, 'files');
const text = 'time_s,voltage_V,current_A\n0,3.70,0\n1,3.70,0\n2,3.65,-1\n';

beforeAll(async () => {
  mkdirSync(files);
  const store = await openStore(join(folder, 'gemel.sqlite'));
  await makeLot(store, 'L-1');
  await store.close();
});
afterAll(() => rmSync(folder, { recursive: true }));

function gemel(...args: string[]) {
  const run = runCommand(args, folder);
  return { status: run.status, out: run.stdout, err: run.stderr };
}

function put(name: string, content: string | Buffer): string {
  const path = join(files, name);
  writeFileSync(path, content);
  const before = new Date(Date.now() - 60_000);
  utimesSync(path, before, before);
  return path;
}

describe('gemel import', () => {
  it('takes files, folders and patterns, and says as JSON what became of each', () => {
    put('A-1_pulse.csv', text);
    put('A-2_pulse.csv.gz', gzipSync(Buffer.from(text.replace('3.65', '3.64'))));
    const { status, out } = gemel(
      'import',
      files,
      '--lot',
      'L-1',
      '--name-pattern',
      '{cell}_{kind}.csv',
      '--json',
    );
    expect(status).toBe(0);
    const { reports } = JSON.parse(out);
    expect(
      reports.map((r: { fileName: string; state: string; cells: string[] }) => [
        r.fileName,
        r.state,
        r.cells,
      ]),
    ).toEqual([
      ['A-1_pulse.csv', 'taken', ['A-1']],
      ['A-2_pulse.csv.gz', 'taken', ['A-2']],
    ]);
  });

  it('refuses a broken file with exit code 1, its place on standard error, and takes the others', () => {
    put('B-1_bad.csv', text.replace('3.65', 'oops'));
    put('B-2_good.csv', text.replace('3.65', '3.66'));
    const { status, out, err } = gemel('import', join(files, 'B-*.csv'), '--lot', 'L-1', '--cell', 'B');
    expect(status).toBe(1);
    expect(out).toContain('B-2_good.csv: taken: 3 rows');
    expect(err).toContain('row 4, B-1_bad.csv (oops): This is not a number');
  });

  it('keeps a column map and reads by it later', () => {
    const first = put('c1.csv', 'a;b;c\n0;3,7;100\n1;3,7;100\n');
    const columns = ['--columns', 'time=a,voltage=b,current=c', '--units', 'current=mA'];
    expect(
      gemel('import', first, '--lot', 'L-1', '--cell', 'C', ...columns, '--save-map', 'bench').status,
    ).toBe(0);
    const second = put('c2.csv', 'a;b;c\n0;3,7;200\n1;3,7;200\n');
    const { status, out } = gemel(
      'import',
      second,
      '--lot',
      'L-1',
      '--cell',
      'C',
      '--column-map',
      'bench',
      '--json',
    );
    expect(status).toBe(0);
    expect(JSON.parse(out).reports[0].mapping[2]).toMatchObject({
      role: 'current',
      unit: 'mA',
      unitFrom: 'given',
    });
  });

  it('says what is wrong with its options', () => {
    expect(gemel('import', files).status).toBe(2);
    expect(gemel('import', files, '--lot', 'L-1', '--columns', 'volt=U').status).toBe(2);
    const none = gemel('import', join(folder, 'nothing*'), '--lot', 'L-1');
    expect(none.status).toBe(1);
    expect(none.err).toContain('matches no file');
  });
});

describe('gemel watch', () => {
  it('takes what has stopped growing, moves it where it is told to, and deletes nothing', () => {
    const inbox = join(folder, 'inbox');
    mkdirSync(inbox);
    const old = new Date(Date.now() - 60_000);
    const write = (name: string, content: string, settled: boolean): void => {
      writeFileSync(join(inbox, name), content);
      if (settled) utimesSync(join(inbox, name), old, old);
    };
    write('good.csv', text.replace('3.65', '3.60'), true);
    write('bad.csv', 'nothing, useful\n', true);
    write('growing.csv', text.replace('3.65', '3.59'), false);
    const targets = ['--done', join(folder, 'done'), '--refused', join(folder, 'refused')];
    const { status, out } = gemel(
      'watch',
      inbox,
      '--lot',
      'L-1',
      '--cell',
      'W',
      '--once',
      '--settle',
      '20',
      ...targets,
    );
    expect(status).toBe(0);
    expect(out).toContain('good.csv: taken');
    expect(out).toContain('bad.csv: refused');
    expect(readdirSync(inbox)).toEqual(['growing.csv']);
    expect(existsSync(join(folder, 'done', 'good.csv'))).toBe(true);
    expect(existsSync(join(folder, 'refused', 'bad.csv'))).toBe(true);
  });

  it('waits for a file that still grows, and ends when it is told to', async () => {
    const inbox = join(folder, 'live-inbox');
    mkdirSync(inbox);
    const args = ['watch', inbox, '--lot', 'L-1', '--cell', 'G', '--settle', '2', '--json'];
    const child = spawn(process.execPath, [...programArguments, ...args], {
      env: { ...process.env, GEMEL_DATA: folder },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    let said = '';
    let errors = '';
    child.stdout.on('data', (piece: Buffer) => {
      said += piece.toString();
    });
    child.stderr.on('data', (piece: Buffer) => {
      errors += piece.toString();
    });
    const until = async (condition: () => boolean): Promise<void> => {
      for (let i = 0; i < 600 && !condition(); i++) await delay(50);
      expect(condition(), errors).toBe(true);
    };
    await until(() => errors.includes('Watching'));
    const path = join(inbox, 'growing.csv');
    writeFileSync(path, 'time_s,voltage_V,current_A\n0,3.7,0\n');
    for (let i = 1; i <= 5; i++) {
      await delay(150);
      appendFileSync(path, `${i},3.7,0.0${i}\n`);
    }
    await until(() => said.includes('\n'));
    expect(JSON.parse(said)).toMatchObject({ state: 'taken', rowCount: 6, movedTo: null });
    child.kill('SIGTERM');
    const code = await new Promise((resolve) => child.on('close', resolve));
    expect(code).toBe(0);
    expect(existsSync(path)).toBe(true);
  });
});
