import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import { openStore } from '../../../server/store/store.ts';
import { selectOne } from '../../support/sql.ts';
import { seededNumbers } from '../fuzz/mutateFile.ts';
import { chemistries, liveTest, withId } from './answers.ts';
import { importText, runClient } from './client.ts';
import { type Http, httpOver, type Troubles } from './http.ts';
import { compareWithLedger, emptyLedger, type Ledger } from './ledger.ts';
import { type LabSize, startLab } from './processes.ts';

export interface SoakPlan extends LabSize {
  readonly clients: number;
  readonly kills: number;
  readonly seed: number;
  /** Longest wait between two kills. */
  readonly longestPauseMs: number;
}

export interface SoakSummary {
  readonly kills: number;
  readonly endedBackends: number;
  readonly ledger: Ledger;
  readonly troubles: Troubles;
  /** What is lost, there twice or half there. */
  readonly wrong: readonly string[];
}

const cellsPerLot = 24;
const clientsPerLot = 5;

/**
 * Lets clients import, append live samples, pair, decide and undo while processes and connections of the database server
 * are killed, and then compares what the services show with what they acknowledged.
 */
export async function runSoak(plan: SoakPlan, tell?: (kills: number) => void): Promise<SoakSummary> {
  const random = seededNumbers(plan.seed);
  const troubles: Troubles = new Map();
  const ledger = emptyLedger();
  const lab = await startLab(plan);
  let endedBackends = 0;
  try {
    const http = httpOver(lab.addresses, random, troubles);
    const lots = await makeLots(http, ledger, Math.ceil(plan.clients / clientsPerLot));
    const liveTests = await openLiveTests(http, lots, plan.clients);
    let ends = false;
    let startMs = 0;
    const clients = Promise.all(
      liveTests.map((liveTestId, client) => {
        const own = seededNumbers(plan.seed * 1000 + client);
        const work = {
          http: httpOver(lab.addresses, own, troubles),
          ledger,
          random: own,
          client,
          liveTestId,
        };
        ledger.live.set(liveTestId, 0);
        return runClient({ ...work, lot: lots[client % lots.length] }, () => ends);
      }),
    );
    // A client that fails ends the soak; the rejection is reported by the wait below.
    clients.catch(() => {
      ends = true;
    });
    for (let kill = 0; kill < plan.kills && !ends; kill++) {
      await delay(random() * Math.max(plan.longestPauseMs, startMs));
      const begun = performance.now();
      if (plan.url !== null && kill % 3 === 2) endedBackends += await lab.endBackends(0.3);
      else {
        await lab.killOne(random());
        // On a loaded machine a process needs longer to start; it is to have time to do something, too.
        startMs = performance.now() - begun;
      }
      tell?.(kill + 1);
    }
    ends = true;
    await clients;
    const wrong = [...(await compareWithLedger(http, ledger)), ...(await leftOver(plan))];
    return { kills: plan.kills, endedBackends, ledger, troubles, wrong };
  } finally {
    await lab.stop();
  }
}

async function makeLots(http: Http, ledger: Ledger, count: number): Promise<{ id: number; name: string }[]> {
  const { items } = chemistries.parse((await http('GET', '/chemistries')).body);
  const cellType = await http('POST', '/cell-types', {
    body: { name: 'soak type', chemistryId: items[0].id, ratedCapacityAh: 2.5 },
  });
  const lots = [];
  for (let i = 0; i < count; i++) {
    const name = `lot ${i}`;
    const { body } = await http('POST', '/lots', {
      body: { name, cellTypeId: withId.parse(cellType.body).id },
    });
    const lot = { id: withId.parse(body).id, name };
    const rows = Array.from(
      { length: cellsPerLot },
      (_, k) => `P-${i}-${k},${2.5 + (k % 7) / 200},${30 + (k % 5) / 5}`,
    );
    const fileName = `cells-${i}.csv`;
    const text = `cell_id,Capacity (Ah),DCIR 10 s (mOhm)\n${rows.join('\n')}\n`;
    const { importId } = await importText({ http, ledger, lot }, fileName, text);
    ledger.files.set(fileName, { state: 'taken', importId, record: null });
    lots.push(lot);
  }
  return lots;
}

async function openLiveTests(
  http: Http,
  lots: readonly { id: number }[],
  clients: number,
): Promise<number[]> {
  const tests: number[] = [];
  for (let i = 0; i < clients; i++) {
    const lotId = lots[i % lots.length].id;
    const cell = withId.parse((await http('POST', '/cells', { body: { lotId, serial: `L-${i}` } })).body);
    const test = await http('POST', `/cells/${cell.id}/live-tests`, { body: { kind: 'pulse' } });
    tests.push(liveTest.parse(test.body).testId);
  }
  return tests;
}

/** What no client can see: records that are no test's, though nobody is filling them. */
async function leftOver({ url, folder }: LabSize): Promise<string[]> {
  const store = await openStore(
    url === null ? join(folder, 'data', 'gemel.sqlite') : { kind: 'postgresql', url, folder },
  );
  try {
    const found = await selectOne<{ n: number }>(
      store,
      `SELECT COUNT(*) AS n FROM Record WHERE testId IS NULL AND stackLogId IS NULL AND state <> 'staged'`,
    );
    return found?.n === 0 ? [] : [`${found?.n} records belong to no test`];
  } finally {
    await store.close();
  }
}
