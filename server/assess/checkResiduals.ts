import { durbinWatson, runsTest } from '../../fitting/least-squares/index.ts';
import { MAD_TO_STANDARD_DEVIATION, medianOf } from '../../fitting/numeric/index.ts';
import { andersonDarling } from '../../fitting/statistics/index.ts';
import type { ResidualChecks } from '../contract/residualChecks.ts';

/** Fewest residuals that are judged. */
const FEWEST = 8;
/** A probability below it counts against the fit. Common practice. */
const SIGNIFICANT = 0.01;
/** Residuals beyond so many robust standard deviations are cut to it for Durbin–Watson: one far reading at an end would decide it. */
const CUT = 3;

function cut(residuals: readonly number[]): readonly number[] {
  const scale = MAD_TO_STANDARD_DEVIATION * (medianOf(residuals.map(Math.abs)) || 0);
  if (!(scale > 0)) return residuals;
  return residuals.map((r) => Math.min(Math.max(r, -CUT * scale), CUT * scale));
}

/**
 * Tests residuals for a pattern in their order and for normality.
 *
 * @param residuals in the order of the independent variable, each divided by what is expected of it where weights differ
 */
export function checkResiduals(residuals: readonly number[]): ResidualChecks {
  const signs = runsTest(residuals);
  const watson = durbinWatson(cut(residuals));
  const normal = residuals.length < 3 ? null : andersonDarling(residuals);
  const enough = residuals.length >= FEWEST;
  const low = (p: number | null | undefined): boolean => p != null && p < SIGNIFICANT;
  const verdict = !enough
    ? 'too-few'
    : low(signs.pFewRuns) || low(watson.pPositive)
      ? 'pattern'
      : low(normal?.pValue)
        ? 'not-normal'
        : 'no-pattern';
  return {
    residuals: residuals.length,
    runs: { found: signs.runs, expected: signs.expectedRuns, pFew: signs.pFewRuns },
    durbinWatson: { statistic: watson.statistic, pLow: watson.pPositive },
    normality: { statistic: normal?.adjusted ?? null, pValue: normal?.pValue ?? null },
    verdict,
  };
}
