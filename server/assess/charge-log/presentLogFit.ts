import type { LogFit, LogParameter } from '../../../fitting/charge-log/index.ts';
import type { ChargeLogResult } from '../../contract/chargeLogResult.ts';
import type { ChargeStudyDescription } from '../../contract/chargeStudy.ts';
import { presentResiduals } from './logComparison.ts';

/** A fit of logs under the names of its cells. */
export function presentLogFit(
  fit: LogFit,
  names: readonly string[],
  statedV: readonly number[],
  study: ChargeStudyDescription,
): NonNullable<ChargeLogResult['fit']> {
  const place = ({ quantity, cell, log }: LogParameter) => ({
    quantity,
    cell: cell === null ? null : names[cell],
    log,
  });
  return {
    converged: fit.converged,
    estimates: fit.estimates.map((estimate) => ({
      ...place(estimate),
      soc: estimate.soc,
      before: estimate.before,
      value: estimate.value,
      standardError: estimate.standardError,
      low: estimate.low,
      high: estimate.high,
      reason: estimate.reason,
    })),
    resistances: fit.resistances.map(({ cell, ...found }) => ({ cell: names[cell], ...found })),
    curves: fit.curveShownV.flatMap((shownV, k) =>
      statedV[k] === 0 ? [] : [{ cell: names[k], statedV: statedV[k], shownV }],
    ),
    inseparable: fit.inseparable.map(({ a, b, correlation }) => ({ a: place(a), b: place(b), correlation })),
    before: fit.before.map((summary) => presentResiduals(summary, names)),
    after: fit.after.map((summary) => presentResiduals(summary, names)),
    misfit: fit.misfit,
    verdict: fit.explains ? 'explains-the-log' : 'does-not-explain-the-log',
    singleChanges: fit.singleChanges.map((change) => ({
      ...place(change),
      value: change.value,
      explainedShare: change.explainedShare,
    })),
    study,
  };
}
