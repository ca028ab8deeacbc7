import type { ChosenCircuit, PulseCircuit } from '../../../fitting/circuit/index.ts';
import type { CircuitFit } from '../../contract/evaluatedPulse.ts';

/** Share of a variance from the slope at which a parameter follows its neighbour, whose slope part is no longer linear. */
const SLOPE_SHARE = 0.1;

/** Branches next to one, or of one, that an OCV slope not fitted decides: what it takes from that branch goes to its neighbour. */
function branchesOpenToSlope({ circuit, covariance }: ChosenCircuit, slope: readonly number[]): Set<number> {
  const open = new Set<number>();
  circuit.parameters.forEach(({ name }, i) => {
    const branch = Number(name.match(/^(?:r|tau)(\d)/)?.[1] ?? 0);
    if (branch > 0 && covariance !== null && slope[i] ** 2 > covariance[i][i]) {
      for (const near of [branch - 1, branch, branch + 1]) open.add(near);
    }
  });
  return open;
}

/**
 * Where a branch of this time constant cannot be separated from R0, in s, R0 is not compared: the charge transfer of lithium
 * cells settles within about a tenth of a second. Common practice, no source.
 */
const QUICK_S = 0.15;

/** Which parameters hold only under something that the data cannot tell. */
export function conditionsOf(
  fitted: PulseCircuit,
  chosen: ChosenCircuit,
  slope: readonly number[],
): CircuitFit['conditional'] {
  const { circuit, covariance, edgeCovariance } = chosen;
  const open = branchesOpenToSlope(chosen, slope);
  const others = circuit.parameters.flatMap(({ name }, i) => {
    if (!/^(r|tau)\d/.test(name)) return [];
    if (fitted.past === 'unknown') return [{ parameter: name, on: 'earlier-current' }];
    if (covariance === null) return [];
    const branch = Number(name.match(/\d/)?.[0]);
    const ofBranch = open.has(branch) && slope[i] ** 2 > SLOPE_SHARE * covariance[i][i];
    if (ofBranch || slope[i] ** 2 > covariance[i][i]) return [{ parameter: name, on: 'ocv-slope' }];
    const edge = edgeCovariance === null ? 0 : edgeCovariance[i][i];
    return edge > 0.5 * covariance[i][i] ? [{ parameter: name, on: 'edge-moment' }] : [];
  });
  return fitted.shortestTauS > QUICK_S ? [{ parameter: 'r0Ohm', on: 'sampling' }, ...others] : others;
}
