import type { z } from 'zod';
import type { Context } from '../context.ts';
import { importReport } from '../contract/import.ts';
import { type JobKind, type JobResult, jobResults } from '../contract/jobs.ts';
import { findPartResult, notePartResult } from '../store/runningJobs.ts';
import { parseStored } from '../store/storedJson.ts';
import { type JobInput, jobInputs } from './inputs.ts';
import { JobStopped, type Task } from './task.ts';

/** Tells the share done, from 0 to 1, and a sentence; throws where the job is to stop. */
export type Tell = (share: number, text: string) => void;

/** What a kind of job takes and gives, and how it runs. What it needs is loaded with its first job. */
interface Kind<Name extends JobKind> {
  readonly input: z.ZodType<JobInput<Name>>;
  readonly result: z.ZodType<JobResult<Name>>;
  readonly run: (
    context: Context,
    input: JobInput<Name>,
    tell: Tell,
    task: Task,
  ) => Promise<z.input<(typeof jobResults)[Name]>>;
}

const share = (done: number, of: number): number => (of === 0 ? 1 : done / of);

const kinds: { readonly [Name in JobKind]: Kind<Name> } = {
  import: {
    input: jobInputs.import,
    result: jobResults.import,
    run: async (context, input, tell, task) => {
      const { importFiles } = await import('../use-cases/imports/importFiles.ts');
      return { reports: await importFiles(context, input, tell, await earlierImports(context, task)) };
    },
  },
  'evaluate-test': {
    input: jobInputs['evaluate-test'],
    result: jobResults['evaluate-test'],
    run: async (context, { testId }) => {
      const { evaluateTest } = await import('../use-cases/evaluation/evaluateTest.ts');
      return { fitId: (await evaluateTest(context, testId)).fit.id };
    },
  },
  'evaluate-lot': {
    input: jobInputs['evaluate-lot'],
    result: jobResults['evaluate-lot'],
    run: async (context, { lotId, onlyNotEvaluated }, tell, { crew }) => {
      const { reevaluateLot } = await import('../use-cases/evaluation/reevaluateLot.ts');
      const evaluated = await reevaluateLot(
        context,
        lotId,
        { onlyNotEvaluated },
        (done, of) => tell(share(done, of), `${done} of ${of} tests`),
        crew,
      );
      return { ...evaluated };
    },
  },
  pair: {
    input: jobInputs.pair,
    result: jobResults.pair,
    run: async (context, input, tell, task) => {
      const { runPairing } = await import('../use-cases/pairing/runPairing.ts');
      tell(0.1, 'pairing');
      return onceOnly(jobResults.pair, context, task, async (note) => {
        await runPairing(context, input, (tx, pairingId) => note(tx, { pairingId }), {
          crew: task.crew,
          onProgress: (done, of) => tell(0.2 + 0.7 * share(done, of), `${done} of ${of} repetitions`),
        });
      });
    },
  },
  'charge-study': {
    input: jobInputs['charge-study'],
    result: jobResults['charge-study'],
    run: async (context, { studyId }, tell, { crew }) => {
      const { runChargeStudy } = await import('../use-cases/charging/runChargeStudy.ts');
      tell(0.05, 'computing the charge');
      const study = await runChargeStudy(
        context,
        studyId,
        (done, of) => tell(0.1 + 0.9 * share(done, of), `${done} of ${of} draws`),
        crew,
      );
      return { studyId: study.id };
    },
  },
  'charge-log': {
    input: jobInputs['charge-log'],
    result: jobResults['charge-log'],
    run: async (context, input, tell, task) => {
      const { evaluateStackLogs } = await import('../use-cases/stack-logs/evaluateStackLogs.ts');
      tell(0.02, 'reading the logs');
      return onceOnly(jobResults['charge-log'], context, task, async (note) => {
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
    result: jobResults.ageing,
    run: async (context, { lotId, settings }, tell, { crew }) => {
      const { assessAgeing } = await import('../use-cases/ageing/assessAgeing.ts');
      const assessed = await assessAgeing(
        context,
        lotId,
        settings,
        (done, of) => tell(share(done, of), `${done} of ${of} cells`),
        crew,
      );
      return { ...assessed };
    },
  },
  export: {
    input: jobInputs.export,
    result: jobResults.export,
    run: async (context, input, tell, task) => {
      const { createExport } = await import('../use-cases/exports/createExport.ts');
      tell(0.05, 'writing');
      return onceOnly(jobResults.export, context, task, async (note) => {
        await createExport(context, input, (tx, exportId, { fileName }) => note(tx, { exportId, fileName }));
      });
    },
  },
  backup: {
    input: jobInputs.backup,
    result: jobResults.backup,
    run: async (context, { file }, tell) => {
      const { backupDatabase } = await import('../store/backup.ts');
      await backupDatabase(context.store, file, (done) => tell(done, `${Math.round(100 * done)} % copied`));
      return { file };
    },
  },
};

/**
 * Runs a job by its kind; gives the result as its schema reads it.
 *
 * @throws Refusal where what the queue holds is not what the kind takes
 */
export function runJob(context: Context, task: Task, tell: Tell): Promise<JobResult> {
  return runKind(kinds[task.kind], context, task, tell);
}

async function runKind<Name extends JobKind>(
  kind: Kind<Name>,
  context: Context,
  task: Task,
  tell: Tell,
): Promise<JobResult<Name>> {
  const input = parseStored(kind.input, JSON.stringify(task.input), `input of job ${task.jobId}`);
  return kind.result.parse(await kind.run(context, input, tell, task));
}

type Note<Result> = (tx: Context['store'], result: Result) => Promise<void>;

/**
 * Runs work that makes something new each time. What it made is noted with the job in the transaction that stores it, so
 * that a run after a sudden end gives that instead of making it once more.
 */
async function onceOnly<Schema extends z.ZodType>(
  schema: Schema,
  { store }: Context,
  { jobId, workerId }: Task,
  work: (note: Note<z.output<Schema>>) => Promise<void>,
): Promise<z.output<Schema>> {
  const read = async () => {
    const text = await findPartResult(store, jobId);
    return text === null ? null : parseStored(schema, text, `result of job ${jobId}`);
  };
  const earlier = await read();
  if (earlier !== null) return earlier;
  await work(async (tx, result) => {
    if (!(await notePartResult(tx, jobId, workerId, JSON.stringify(result)))) throw new JobStopped();
  });
  const made = await read();
  if (made === null) throw new Error(`What job ${jobId} made was not noted with it.`);
  return made;
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
