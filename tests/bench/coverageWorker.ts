import { parentPort } from 'node:worker_threads';
import { scenarioCoverage } from '../support/pulseCoverage.ts';
import { pulseScenarios } from '../support/pulseScenarios.ts';

/** Counts one part of a scenario after the other as they come in. */
parentPort?.on(
  'message',
  async ({ scenario, firstSeed, records }: { scenario: number; firstSeed: number; records: number }) => {
    const found = await scenarioCoverage(pulseScenarios[scenario], firstSeed, records);
    parentPort?.postMessage({ scenario, found });
  },
);
