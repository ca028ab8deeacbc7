import type { Context } from '../../context.ts';
import type { LotEvaluated } from '../../contract/jobs.ts';
import { type EvaluatedMeasurement, listEvaluatedMeasurements } from '../../store/measurements.ts';
import type { Crew } from '../../threads/crew.ts';
import type { LotProgress } from './evaluateLot.ts';
import { evaluateLot } from './evaluateLot.ts';

/** Larger differences are listed: a last digit that another order of summing changes does not count. */
const relativeDifference = 1e-9;
const listedAtMost = 10_000;

/**
 * Evaluates the tests of a lot again, for instance after the algorithms changed, and lists every value that is not what
 * it was. What was valid before is superseded, never changed.
 */
export async function reevaluateLot(
  context: Context,
  lotId: number,
  options: { onlyNotEvaluated: boolean },
  onProgress?: LotProgress,
  crew: Crew | null = null,
): Promise<LotEvaluated> {
  const before = await readValid(context, lotId);
  const { evaluated, failed } = await evaluateLot(context, lotId, options, onProgress, crew);
  const after = await readValid(context, lotId);
  const testsBefore = new Set([...before.values()].map((row) => row.testId));
  const changed: LotEvaluated['changed'] = [];
  let compared = 0;
  for (const key of new Set([...before.keys(), ...after.keys()])) {
    const [was, is] = [before.get(key), after.get(key)];
    if (was !== undefined && is !== undefined) compared++;
    // What was not there before any evaluation of its test is new, not changed.
    if (was === undefined && is !== undefined && !testsBefore.has(is.testId)) continue;
    if (alike(was?.value ?? null, is?.value ?? null)) continue;
    const { value: _value, position: _position, ...rest } = (is ?? was) as EvaluatedMeasurement;
    changed.push({ ...rest, before: was?.value ?? null, after: is?.value ?? null });
    if (changed.length >= listedAtMost) break;
  }
  return { evaluated, failed, compared, changed };
}

function alike(a: number | null, b: number | null): boolean {
  if (a === null || b === null) return a === b;
  return Math.abs(a - b) <= relativeDifference * Math.max(Math.abs(a), Math.abs(b));
}

/** The valid measurements of a lot's evaluations by what they are of; equal ones are distinguished by their order. */
async function readValid(context: Context, lotId: number): Promise<Map<string, EvaluatedMeasurement>> {
  return new Map(
    (await listEvaluatedMeasurements(context.store, lotId)).map((row) => [
      JSON.stringify([row.testId, row.quantity, row.durationS, row.direction, row.position]),
      row,
    ]),
  );
}
