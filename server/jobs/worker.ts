import { openFurtherStore } from '../store/store.ts';
import { systemRandom } from '../systemRandom.ts';
import { type Answered, answered } from '../threads/answered.ts';
import { runJob } from './kinds.ts';
import { answerQuestion, type Question } from './questions.ts';
import type { Task } from './task.ts';
import { JobStopped } from './task.ts';

const tellEveryMs = 200;

/** What a worker thread is asked: to run a job, or to answer a question. */
export default async function run(asked: Task | Question): Promise<Readonly<Record<string, unknown>>> {
  return 'question' in asked ? { ...(await answerInThread(asked)) } : runTask(asked);
}

async function answerInThread({ question, input, database, actor, nowMs }: Question): Promise<Answered> {
  const store = await openFurtherStore(database);
  try {
    const context = { store, now: () => new Date(nowMs), actor, random: systemRandom };
    return await answered(() => answerQuestion(context, question, input));
  } finally {
    await store.close();
  }
}

/** Runs one job in a worker thread with a store of its own; returns the job's result. */
async function runTask(task: Task): Promise<Readonly<Record<string, unknown>>> {
  let toldAt = 0;
  const tell = (share: number, text: string): void => {
    if (Atomics.load(task.stop, 0) === 1) throw new JobStopped();
    const now = performance.now();
    if (now - toldAt < tellEveryMs && share < 1) return;
    toldAt = now;
    task.port.postMessage({ share, text });
  };
  const store = await openFurtherStore(task.database);
  try {
    const context = {
      store,
      now: () => new Date(),
      actor: { name: task.actorName, role: 'operator' },
      random: systemRandom,
    } as const;
    return await runJob(context, task, tell);
  } finally {
    await store.close();
    task.port.close();
  }
}
