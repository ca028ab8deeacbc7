// A process that imports files, appends live samples and runs jobs until it is killed. It says on standard output what
// it was told is done; whatever it said must be there afterwards.
import { setTimeout as delay } from 'node:timers/promises';
import { seededRandom } from '../../../fitting/statistics/random.ts';
import { localActor } from '../../../server/access/identify.ts';
import type { Context } from '../../../server/context.ts';
import { putJob } from '../../../server/jobs/queue.ts';
import { startJobRunner } from '../../../server/jobs/runner.ts';
import { findCellBySerial } from '../../../server/store/cells.ts';
import { sweepIncomingFiles } from '../../../server/store/incomingFiles.ts';
import { findJob } from '../../../server/store/jobs.ts';
import { findLotByName } from '../../../server/store/lots.ts';
import { sweepStagedRecords } from '../../../server/store/stagedRecords.ts';
import { openStore } from '../../../server/store/store.ts';
import { appendLiveSamples } from '../../../server/use-cases/imports/appendLiveSamples.ts';
import { importFile } from '../../../server/use-cases/imports/importFile.ts';
import { fileOnDisk } from '../../../server/use-cases/imports/importFiles.ts';
import { openLiveTest, readLiveTest } from '../../../server/use-cases/imports/liveTest.ts';
import { selectOne } from '../../support/sql.ts';
import { rowOf, writeKillFile } from './killFiles.ts';

const [database, folder, mode, firstText] = process.argv.slice(2);
const store = await openStore(database);
const context: Context = { store, now: () => new Date(), actor: localActor, random: seededRandom(1) };
const say = (line: string): void => {
  process.stdout.write(`${line}\n`);
};

async function importOn(): Promise<void> {
  for (let n = Number(firstText); ; n++) {
    const path = writeKillFile(folder, n);
    say(`begin ${n}`);
    const report = await importFile(
      context,
      fileOnDisk(path),
      { lot: 'kill', cell: `K-${n % 5}` },
      `file-${n}`,
    );
    if (report.state !== 'taken') throw new Error(report.refusal?.reason ?? 'refused');
    say(`file ${n}`);
  }
}

async function appendOn(): Promise<void> {
  const lot = await findLotByName(store, 'kill');
  const cell = lot === null ? null : await findCellBySerial(store, lot.id, 'live');
  if (cell === null) throw new Error('The live cell is missing');
  const open = await selectOne<{ id: number }>(
    store,
    `SELECT id FROM Test WHERE cellId = ? AND state = 'open'`,
    cell.id,
  );
  const testId =
    open?.id ??
    (
      await openLiveTest(context, cell.id, {
        kind: 'rest',
        label: '',
        temperatureC: null,
        withTemperature: false,
      })
    ).testId;
  say(`begin ${testId}`);
  for (;;) {
    const { rowCount } = await readLiveTest(context, testId);
    const count = 1 + ((rowCount * 31) % 900);
    const rows = Array.from({ length: count }, (_, i) => rowOf(0, rowCount + i));
    const state = await appendLiveSamples(context, {
      testId,
      key: `from-${rowCount}`,
      samples: {
        firstRow: rowCount,
        timeS: rows.map(([timeS]) => timeS),
        voltageV: rows.map(([, voltageV]) => voltageV),
        currentA: rows.map(([, , currentA]) => currentA),
      },
    });
    say(`live ${testId} ${state.rowCount}`);
    await delay(0);
  }
}

async function runJobs(): Promise<void> {
  await startJobRunner({ store, log: { warn: console.error, info: () => {} }, workers: 1 });
  for (let n = Number(firstText); ; n++) {
    const files = [{ name: `kill-${n}.csv`, path: writeKillFile(folder, n), temporary: false }];
    const { id } = await putJob(context, 'import', {
      batch: `job-${n}`,
      files,
      options: { lot: 'kill', cell: 'K-job' },
    });
    say(`job ${id} ${n}`);
    if (n === Number(firstText)) say('begin');
    while ((await findJob(store, id))?.state !== 'done') await delay(5);
    say(`file ${n}`);
  }
}

await sweepStagedRecords(store);
await sweepIncomingFiles(store, 'all');
await { import: importOn, live: appendOn, jobs: runJobs }[mode as 'import' | 'live' | 'jobs']();
