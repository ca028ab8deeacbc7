import { medianOf } from '../numeric/index.ts';
import type { RecordColumns } from './record.ts';
import type { Step } from './step.ts';

/**
 * Joins the pieces of a constant-voltage phase that falls in steps because it was sampled coarsely. A step
 * belongs to such a phase when the current is smaller than in the step before, of the same sign and without a
 * gap, and the voltage stays where it was (5 mV or three resolution steps): a current that the instrument had
 * lowered would have let the voltage go.
 */
export function joinTapers(
  record: RecordColumns,
  steps: readonly Step[],
  voltageResolutionV: number,
): Step[] {
  const allowed = Math.max(0.005, 3 * voltageResolutionV);
  const joined: Step[] = [];
  for (const step of steps) {
    const previous = joined[joined.length - 1];
    const falls =
      previous !== undefined &&
      step.kind !== 'rest' &&
      previous.kind !== 'rest' &&
      step.gapBeforeS === 0 &&
      !step.clockRestarted &&
      Math.sign(step.currentA) === Math.sign(previous.currentA) &&
      Math.abs(step.currentA) < Math.abs(previous.currentA);
    if (!falls) {
      joined.push(step);
      continue;
    }
    const voltages = record.voltageV.subarray(step.start, step.end);
    const heldV = record.voltageV[previous.end - 1];
    const held = voltages.every((voltage) => Math.abs(voltage - heldV) <= allowed);
    if (!held) joined.push(step);
    else if (previous.kind === 'constant-voltage') {
      const all = [...record.currentA.subarray(previous.start, step.end)];
      joined[joined.length - 1] = { ...previous, end: step.end, currentA: medianOf(all) };
    } else joined.push({ ...step, kind: 'constant-voltage' });
  }
  return joined;
}
