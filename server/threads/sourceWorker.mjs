// Runs a worker from its TypeScript source, in tests and during development: a thread does not inherit the loader. Under
// `npm test`, which builds first, the built worker is run: it starts several times sooner.
import { workerData } from 'node:worker_threads';

async function load() {
  if (process.env.GEMEL_TEST_PROGRAM === 'built') return import(`../../dist/server/${workerData.worker}.js`);
  const { register } = await import('tsx/esm/api');
  register();
  return import(`../${workerData.worker}.ts`);
}

export default (await load()).default;
