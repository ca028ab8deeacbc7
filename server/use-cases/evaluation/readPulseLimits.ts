import { ocvCurve } from '../../../fitting/open-circuit/index.ts';
import { type PulseLimit, pulseCurrentLimits } from '../../../fitting/resistance/index.ts';
import { countingCapacityAh } from '../../assess/pulse/countingCapacity.ts';
import type { Context } from '../../context.ts';
import type { CellType } from '../../contract/cellTypes.ts';
import type { PulseCurrentLimit, PulseLimits } from '../../contract/pulseLimits.ts';
import type { EvaluatedPulseRecord } from '../../contract/pulseRecord.ts';
import type { PulsePower } from '../../contract/resistanceMethods.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { findCell } from '../../store/cells.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { findTest } from '../../store/tests.ts';
import { readEvaluation } from './readEvaluation.ts';

const METHOD = 'Plett, J. Power Sources 134 (2004) 252: SOC window, voltage limits, rating';

/**
 * The largest pulse currents by the valid evaluation of a pulse test, under the voltage limits it was evaluated with, the
 * datasheet's ratings and a window of the state of charge.
 *
 * @throws Refusal `not-found`: no such test, not evaluated, or no pulse test; `invalid-request`: an empty window
 */
export async function readPulseLimits(
  context: Context,
  testId: number,
  window: { socMin: number; socMax: number },
): Promise<PulseLimits> {
  if (!(window.socMin < window.socMax))
    throw new Refusal('invalid-request', 'The window of the state of charge is empty.', [
      fieldError('socMax', window.socMax, 'is not above socMin', `more than ${window.socMin}`),
    ]);
  const { evaluation, fit } = await readEvaluation(context, testId);
  if (evaluation.kind !== 'pulse') throw new Refusal('not-found', `Test ${testId} is not a pulse test.`);
  const { result } = evaluation;
  const { minVoltageV, maxVoltageV } = result.settings;
  const cell = await findCell(context.store, (await findTest(context.store, testId))?.cellId ?? 0);
  const ratings = cell ? await findCellType(context.store, cell.cellTypeId) : null;
  const found = limitsOf(result, window, ratings);
  const none = typeof found === 'string';
  return {
    testId,
    fitId: fit.id,
    method: METHOD,
    minVoltageV,
    maxVoltageV,
    items: none ? [] : found,
    reason: none ? found : null,
  };
}

type Ratings = Pick<CellType, 'maxChargeCurrentA' | 'maxDischargeCurrentA'> | null;

function limitsOf(
  result: EvaluatedPulseRecord,
  window: { socMin: number; socMax: number },
  ratings: Ratings,
): PulseLimits['items'] | NonNullable<PulseLimits['reason']> {
  const { minVoltageV, maxVoltageV } = result.settings;
  const capacityAh = countingCapacityAh(result.settings);
  if (minVoltageV === null || maxVoltageV === null) return 'limits-not-stated';
  if (capacityAh === null) return 'no-rated-capacity';
  const { openCircuit } = result;
  const curve =
    openCircuit === null
      ? null
      : ocvCurve(
          openCircuit.soc.map((soc, i) => ({
            soc,
            ocvV: openCircuit.ocvV[i],
            standardUncertaintyV: openCircuit.standardUncertaintyV[i],
          })),
        );
  if (curve === null) return 'no-open-circuit-curve';
  const common = { ...window, capacityAh, minVoltageV, maxVoltageV };
  const items = result.pulsePowers.flatMap((pair) => {
    const measured = measuredPair(pair);
    if (measured === null || !curve.curve.covers(measured.soc)) return [];
    const { soc, dischargeDurationS, chargeDurationS, chargePulseIndex, ...resistances } = measured;
    const at = {
      ...common,
      ...resistances,
      soc,
      ocvV: curve.ocvAt(soc),
      ocvSlopeV: curve.curve.slopeAt(soc),
    };
    const dischargeRatingA = ratings?.maxDischargeCurrentA ?? null;
    const chargeRatingA = ratings?.maxChargeCurrentA ?? null;
    const limits = (durationS: number) =>
      pulseCurrentLimits({
        ...at,
        durationS,
        ...(dischargeRatingA === null ? {} : { dischargeRatingA }),
        ...(chargeRatingA === null ? {} : { chargeRatingA }),
      });
    return [
      {
        soc,
        ocvV: at.ocvV,
        ocvSlopeV: at.ocvSlopeV,
        discharge: present(
          limits(dischargeDurationS).discharge,
          pair.dischargePulseIndex,
          dischargeDurationS,
          dischargeRatingA,
        ),
        charge: present(limits(chargeDurationS).charge, chargePulseIndex, chargeDurationS, chargeRatingA),
      },
    ];
  });
  return items.length === 0 ? 'no-pulse-pairs' : items;
}

/** A pair of pulses of which everything is known that a limit needs; null for any other. */
function measuredPair(pair: PulsePower) {
  const { dischargeResistanceOhm, chargeResistanceOhm, chargeDurationS, chargePulseIndex } = pair;
  if (pair.socBefore === null || chargeDurationS === null || chargePulseIndex === null) return null;
  if (dischargeResistanceOhm === null || !(dischargeResistanceOhm > 0)) return null;
  if (chargeResistanceOhm === null || !(chargeResistanceOhm > 0)) return null;
  const { socBefore: soc, dischargeDurationS } = pair;
  return {
    soc,
    dischargeDurationS,
    chargeDurationS,
    chargePulseIndex,
    dischargeResistanceOhm,
    chargeResistanceOhm,
  };
}

function present(
  limit: PulseLimit,
  pulseIndex: number,
  durationS: number,
  ratingA: number | null,
): PulseCurrentLimit {
  return { pulseIndex, durationS, ratingA, ...limit };
}
