import { loadDemonstration } from './loadDemonstration.ts';

/** Run by `npm start`: fills an empty database with the demonstration and prints what came out. */
process.exitCode = await loadDemonstration();
