// Runs a worker from its TypeScript source, in tests and during development: a thread does not inherit the loader.
import { workerData } from 'node:worker_threads';
import { register } from 'tsx/esm/api';

register();
const { default: run } = await import(`../${workerData.worker}.ts`);

export default run;
