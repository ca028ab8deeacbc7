import { studyCharge } from '../../assess/charging/studyCharge.ts';
import type { Context } from '../../context.ts';
import { chargeStudyDescription } from '../../contract/chargeStudy.ts';
import type { PairCharge } from '../../contract/pairings.ts';
import { readPair, readRun } from '../pairing/readPairing.ts';
import { draftChargeStudy } from './draftChargeStudy.ts';

/**
 * Simulates the charge of a pair in series at the planned current of its run, each cell watched, and beside it the
 * same with the stack's voltage alone watched. The simulation keeps every rating of the datasheet.
 *
 * @throws Refusal `cannot-study` where a parameter of one of the cells is not known.
 */
export async function studyPair(context: Context, pairId: number): Promise<PairCharge> {
  const pair = await readPair(context, pairId);
  const { result: run } = await readRun(context, pair.pairingId);
  const { description, notes } = await draftChargeStudy(context, { cellIds: pair.cells.map(({ id }) => id) });
  const oneC = Math.min(...description.cells.map((cell) => cell.ratedCapacityAh ?? cell.capacityAh));
  const [stage] = description.phases.stages;
  const chargeCurrentA = run.criteria.use.chargeCurrentA ?? stage.currentA ?? (stage.rateC ?? 1) * oneC;
  const result = studyCharge(
    chargeStudyDescription.parse({
      ...description,
      phases: { ...description.phases, stages: [{ currentA: chargeCurrentA }] },
      questions: { ...description.questions, stackOnly: true },
    }),
  );
  const first = result.limits.find(({ limit, cell }) => limit === 'cell-voltage' && cell !== null);
  return {
    pairId,
    chargeCurrentA,
    limitsCharge: first === undefined ? null : pair.cells[first.cell!].serial,
    result,
    notes,
  };
}
