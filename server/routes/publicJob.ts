import type { Job } from '../contract/jobs.ts';

/** A job as it is told to the outside: the places of uploads on this machine's disk are nobody's business. */
export function publicJob(job: Job): Job {
  const { files } = job.input;
  if (!Array.isArray(files)) return job;
  const named = files.map((file: unknown) =>
    typeof file === 'object' && file !== null && 'name' in file ? { name: file.name } : {},
  );
  return { ...job, input: { ...job.input, files: named } };
}
