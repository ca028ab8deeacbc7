import { basename } from 'node:path';
import type { Job } from '../contract/jobs.ts';

/** A job as shown to clients: local file paths are not exposed. */
export function publicJob(job: Job): Job {
  if (job.kind === 'backup') {
    return {
      ...job,
      input: nameAlone(job.input),
      result: job.result && { file: basename(job.result.file) },
    };
  }
  const { files } = job.input;
  if (!Array.isArray(files)) return job;
  const named = files.map((file: unknown) =>
    typeof file === 'object' && file !== null && 'name' in file ? { name: file.name } : {},
  );
  return { ...job, input: { ...job.input, files: named } };
}

function nameAlone(document: Record<string, unknown>): Record<string, unknown> {
  return typeof document.file === 'string' ? { ...document, file: basename(document.file) } : document;
}
