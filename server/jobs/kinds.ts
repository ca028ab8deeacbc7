import { z } from 'zod';
import type { Context } from '../context.ts';
import { importReport } from '../contract/import.ts';
import type { JobKind } from '../contract/jobs.ts';
import { findPartResult, notePartResult } from '../store/jobs.ts';
import { parseStored } from '../store/storedJson.ts';
import { type JobInput, jobInputs } from './inputs.ts';
import { JobStopped, type Task } from './task.ts';

/** Tells the share done, from 0 to 1, and a sentence; throws where the job is to stop. */
export type Tell = (share: number, text: string) => void;

type Result = Readonly<Record<string, unknown>>;

/** The input of a kind of job and how it runs. What it needs is loaded with its first job. */
interface Kind<Name extends JobKind> {
  readonly input: z.ZodType<JobInput<Name>>;
  readonly run: (context: Context, input: JobInput<Name>, tell: Tell, task: Task) => Promise<Result>;
}

const share = (done: number, of: number): number => (of === 0 ? 1 : done / of);

const kinds: { readonly [Name in JobKind]: Kind<Name> } = {
  import: {
    input: jobInputs.import,
    run: async (context, input, tell, task) => {
      const { importFiles } = await import('../use-cases/imports/importFiles.ts');
      return { reports: await importFiles(context, input, tell, await earlierImports(context, task)) };
    },
  },
  'evaluate-test': {
    input: jobInputs['evaluate-test'],
    run: async (context, { testId }) => {
      const { evaluateTest } = await import('../use-cases/evaluation/evaluateTest.ts');
      return { fitId: (await evaluateTest(context, testId)).fit.id };
    },
  },
  'evaluate-lot': {
    input: jobInputs['evaluate-lot'],
    run: async (context, { lotId, onlyNotEvaluated }, tell) => {
      const { reevaluateLot } = await import('../use-cases/evaluation/reevaluateLot.ts');
      const evaluated = await reevaluateLot(context, lotId, { onlyNotEvaluated }, (done, of) =>
        tell(share(done, of), `${done} of ${of} tests`),
      );
      return { ...evaluated };
    },
  },
  pair: {
    input: jobInputs.pair,
    run: async (context, input, tell, task) => {
      const { runPairing } = await import('../use-cases/pairing/runPairing.ts');
      tell(0.1, 'pairing');
      return onceOnly(context, task, async (note) => {
        await runPairing(context, input, (tx, pairingId) => note(tx, { pairingId }));
      });
    },
  },
  'charge-study': {
    input: jobInputs['charge-study'],
    run: async (context, { studyId }, tell) => {
      const { runChargeStudy } = await import('../use-cases/charging/runChargeStudy.ts');
      tell(0.05, 'computing the charge');
      const study = await runChargeStudy(context, studyId, (done, of) =>
        tell(0.1 + 0.9 * share(done, of), `${done} of ${of} draws`),
      );
      return { studyId: study.id };
    },
  },
  'charge-log': {
    input: jobInputs['charge-log'],
    run: async (context, input, tell, task) => {
      const { evaluateStackLogs } = await import('../use-cases/stack-logs/evaluateStackLogs.ts');
      tell(0.02, 'reading the logs');
      return onceOnly(context, task, async (note) => {
        await evaluateStackLogs(
          context,
          input,
          (done) => tell(done, done < 0.9 && input.fit.length > 0 ? 'fitting' : 'comparing'),
          (tx, fitId) => note(tx, { fitId }),
        );
      });
    },
  },
  ageing: {
    input: jobInputs.ageing,
    run: async (context, { lotId, settings }, tell) => {
      const { assessAgeing } = await import('../use-cases/ageing/assessAgeing.ts');
      const assessed = await assessAgeing(context, lotId, settings, (done, of) =>
        tell(share(done, of), `${done} of ${of} cells`),
      );
      return { ...assessed };
    },
  },
  export: {
    input: jobInputs.export,
    run: async (context, input, tell, task) => {
      const { createExport } = await import('../use-cases/exports/createExport.ts');
      tell(0.05, 'writing');
      return onceOnly(context, task, async (note) => {
        await createExport(context, input, (tx, exportId, { fileName }) => note(tx, { exportId, fileName }));
      });
    },
  },
  backup: {
    input: jobInputs.backup,
    run: async (context, { file }, tell) => {
      const { backupDatabase } = await import('../store/backup.ts');
      await backupDatabase(context.store, file, (done) => tell(done, `${Math.round(100 * done)} % copied`));
      return { file };
    },
  },
};

/** Runs a job by its kind. @throws Refusal where what the queue holds is not what the kind takes */
export function runJob(context: Context, task: Task, tell: Tell): Promise<Result> {
  return runKind(kinds[task.kind], context, task, tell);
}

function runKind<Name extends JobKind>(
  kind: Kind<Name>,
  context: Context,
  task: Task,
  tell: Tell,
): Promise<Result> {
  const input = parseStored(kind.input, JSON.stringify(task.input), `input of job ${task.jobId}`);
  return kind.run(context, input, tell, task);
}

type Note = (tx: Context['store'], result: Result) => Promise<void>;

const storedResult = z.record(z.string(), z.unknown());

/**
 * Runs work that makes something new each time. What it made is noted with the job in the transaction that stores it, so
 * that a run after a sudden end gives that instead of making it once more.
 */
async function onceOnly(
  { store }: Context,
  { jobId, workerId }: Task,
  work: (note: Note) => Promise<void>,
): Promise<Result> {
  const read = async () => {
    const text = await findPartResult(store, jobId);
    return text === null ? null : parseStored(storedResult, text, `result of job ${jobId}`);
  };
  const earlier = await read();
  if (earlier !== null) return earlier;
  await work(async (tx, result) => {
    if (!(await notePartResult(tx, jobId, workerId, JSON.stringify(result)))) throw new JobStopped();
  });
  return (await read()) ?? {};
}

/**
 * The reports of the files that an earlier run of the job took or refused, and how a further one is noted: in the
 * transaction that takes the file, so that whenever the process ends the job knows what became of each file.
 */
async function earlierImports(context: Context, { jobId, workerId }: Task) {
  const text = await findPartResult(context.store, jobId);
  const part = importReport.array();
  const reports = text === null ? [] : parseStored(part, text, `reports of job ${jobId}`);
  return {
    reports,
    note: async (tx: Context['store'], soFar: z.output<typeof part>) => {
      // Another worker has the job where this one seemed dead; what it did must not be there twice.
      if (!(await notePartResult(tx, jobId, workerId, JSON.stringify(soFar)))) throw new JobStopped();
    },
  };
}
