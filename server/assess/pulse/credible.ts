import type { CircuitFit } from '../../contract/evaluatedPulse.ts';

/** A resistance that may be missing, with its uncertainty and the reason. */
interface MaybeOhm {
  readonly valueOhm: number | null;
  readonly standardUncertaintyOhm: number | null;
  readonly reason: string | null;
}

/** A resistance is above 0 and its uncertainty is finite; else the value is missing with the reason. */
export function credibleOhm<T extends MaybeOhm>(found: T): T {
  const reason = found.valueOhm === null ? null : wrong([found.valueOhm], [found.standardUncertaintyOhm]);
  return reason === null ? found : { ...found, valueOhm: null, standardUncertaintyOhm: null, reason };
}

/** Why a circuit is not one of a cell, or is not determined by the data; null where it is sound. */
export function circuitFault(fit: CircuitFit): 'not-positive' | 'undetermined' | null {
  const values = [fit.r0Ohm, fit.r1Ohm, fit.tau1S, fit.r2Ohm, fit.tau2S, fit.r3Ohm, fit.tau3S];
  return wrong(values, [
    fit.ocvStandardErrorV,
    fit.ocvSlopeStandardErrorVPerAs,
    fit.r0StandardErrorOhm,
    fit.r1StandardErrorOhm,
    fit.tau1StandardErrorS,
    fit.r2StandardErrorOhm,
    fit.tau2StandardErrorS,
    fit.r3StandardErrorOhm,
    fit.tau3StandardErrorS,
    ...(fit.covariance?.matrix.flat() ?? []),
  ]);
}

function wrong(
  values: readonly (number | null)[],
  errors: readonly (number | null)[],
): 'not-positive' | 'undetermined' | null {
  if (errors.some((error) => error !== null && !Number.isFinite(error))) return 'undetermined';
  return values.some((value) => value !== null && !(value > 0 && value < Infinity)) ? 'not-positive' : null;
}
