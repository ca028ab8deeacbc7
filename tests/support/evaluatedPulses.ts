import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type EvaluatedPulseRecord, evaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';
import { runEvaluate } from './runEvaluate.ts';
import { recordText, type SimulatedRecord } from './simulatedPulses.ts';

/**
 * What `gemel evaluate pulse FILE --json` prints of a simulated record.
 *
 * @throws Error with what the command wrote, where it refuses the record
 */
export async function evaluatedPulses(record: SimulatedRecord): Promise<EvaluatedPulseRecord> {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-pulses-'));
  try {
    const file = join(folder, 'record.csv');
    writeFileSync(file, recordText(record));
    const { code, out, err } = await runEvaluate('pulse', file, '--json');
    if (code !== 0) throw new Error(`gemel evaluate pulse ended with ${code}: ${err}`);
    return evaluatedPulseRecord.parse(JSON.parse(out));
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
