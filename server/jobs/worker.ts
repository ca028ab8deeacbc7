import type { Context } from '../context.ts';
import type { ImportReport } from '../contract/import.ts';
import type { CreatePairing } from '../contract/pairings.ts';
import { openSqlStore } from '../store/store.ts';
import { systemRandom } from '../systemRandom.ts';
import type { FilesToImport } from '../use-cases/imports/importFiles.ts';
import type { Task } from './task.ts';
import { JobStopped } from './task.ts';

const tellEveryMs = 200;

/** Runs one job in a worker thread with a database connection of its own; returns the job's result. */
export default async function runTask(task: Task): Promise<Record<string, unknown>> {
  let toldAt = 0;
  const tell = (share: number, text: string): void => {
    if (Atomics.load(task.stop, 0) === 1) throw new JobStopped();
    const now = performance.now();
    if (now - toldAt < tellEveryMs && share < 1) return;
    toldAt = now;
    task.port.postMessage({ share, text });
  };
  try {
    return await runKind(task, tell);
  } finally {
    task.port.close();
  }
}

type Tell = (share: number, text: string) => void;

async function runKind(task: Task, tell: Tell): Promise<Record<string, unknown>> {
  switch (task.kind) {
    case 'import':
      return { reports: await importTask(task, tell) };
    case 'evaluate-test': {
      const { evaluateTest } = await import('../use-cases/evaluation/evaluateTest.ts');
      return inStore(task, async (context) => {
        const evaluated = await evaluateTest(context, numberIn(task.input, 'testId'));
        return { fitId: evaluated.fit.id };
      });
    }
    case 'evaluate-lot': {
      const { reevaluateLot } = await import('../use-cases/evaluation/reevaluateLot.ts');
      return inStore(task, async (context) => ({
        ...(await reevaluateLot(
          context,
          numberIn(task.input, 'lotId'),
          { onlyNotEvaluated: task.input.onlyNotEvaluated === true },
          (done, of) => tell(of === 0 ? 1 : done / of, `${done} of ${of} tests`),
        )),
      }));
    }
    case 'pair': {
      const { runPairing } = await import('../use-cases/pairing/runPairing.ts');
      return inStore(task, async (context) => {
        tell(0.1, 'pairing');
        // What the queue holds was checked by the request's schema when it was put there.
        const pairing = await runPairing(context, task.input as unknown as CreatePairing);
        return { pairingId: pairing.id };
      });
    }
    case 'ageing': {
      const { assessAgeing } = await import('../use-cases/ageing/assessAgeing.ts');
      const { ageingSettings } = await import('../contract/ageingAssessment.ts');
      return inStore(task, async (context) => ({
        ...(await assessAgeing(
          context,
          numberIn(task.input, 'lotId'),
          ageingSettings.parse(task.input.settings),
          (done, of) => tell(of === 0 ? 1 : done / of, `${done} of ${of} cells`),
        )),
      }));
    }
    case 'charge-study': {
      const { runChargeStudy } = await import('../use-cases/charging/runChargeStudy.ts');
      return inStore(task, async (context) => {
        tell(0.05, 'computing the charge');
        const study = await runChargeStudy(context, numberIn(task.input, 'studyId'), (done, of) =>
          tell(0.1 + (0.9 * done) / of, `${done} of ${of} draws`),
        );
        return { studyId: study.id };
      });
    }
    case 'export': {
      const { createExport } = await import('../use-cases/exports/createExport.ts');
      const { createExport: exportRequest } = await import('../contract/exports.ts');
      return inStore(task, async (context) => {
        tell(0.05, 'writing');
        const made = await createExport(context, exportRequest.parse(task.input));
        return { exportId: made.id, fileName: made.fileName };
      });
    }
    case 'backup': {
      const { backupDatabase } = await import('../store/backup.ts');
      return inStore(task, async (context) => {
        await backupDatabase(context.store, String(task.input.file));
        return { file: String(task.input.file) };
      });
    }
    default:
      throw new Error(`Jobs of kind ${task.kind} cannot be run in the background.`);
  }
}

/** An import needs SQL alone, and so the thread stays small. */
async function importTask(task: Task, tell: Tell): Promise<ImportReport[]> {
  const { importFiles } = await import('../use-cases/imports/importFiles.ts');
  const store = openSqlStore(task.databaseFile);
  try {
    const context = { store, now: () => new Date(), actor: { name: task.actorName } };
    // What the queue holds was checked by the request's schema when it was put there.
    return await importFiles(context, task.input as unknown as FilesToImport, tell);
  } finally {
    await store.close();
  }
}

async function inStore<T>(task: Task, work: (context: Context) => Promise<T> | T): Promise<T> {
  const { openStore } = await import('../store/store.ts');
  const store = await openStore(task.databaseFile);
  try {
    return await work({
      store,
      now: () => new Date(),
      actor: { name: task.actorName, role: 'operator' },
      random: systemRandom,
    });
  } finally {
    await store.close();
  }
}

function numberIn(input: Record<string, unknown>, field: string): number {
  const value = input[field];
  if (typeof value !== 'number') throw new Error(`The job lacks ${field}.`);
  return value;
}
