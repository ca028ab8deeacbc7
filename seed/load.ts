import { exitCodes, tellFailure } from '../server/commands/program.ts';
import { loadDemonstration } from './loadDemonstration.ts';

/** Run by `npm start`: fills an empty database with the demonstration and prints what came out. */
try {
  process.exitCode = await loadDemonstration();
} catch (error) {
  tellFailure(error);
  process.exitCode = exitCodes.refused;
}
