// Runs the worker from its TypeScript source, in tests and during development: a thread does not inherit the loader.
import { register } from 'tsx/esm/api';

register();
const { default: runTask } = await import('./worker.ts');

export default runTask;
