import { withPrior } from '../../least-squares/index.ts';
import { branchCurrents, coefficientsOfAll } from '../response/branchCurrents.ts';
import { scoredValues } from '../window/circuitWindow.ts';
import type { PulseWindow } from '../window/pulseWindow.ts';
import { beside } from './besideColumn.ts';
import type { ChosenCircuit, UnseenEffect } from './chosenCircuit.ts';
import { circuitJacobian } from './circuitJacobian.ts';
import { circuitResiduals } from './circuitResiduals.ts';
import { circuitValue, type FittedCircuit } from './fitCircuit.ts';

/** Odds beforehand that a record has either. Common practice, no source. */
const ODDS = 0.25;
/** Standard deviation of the rate of a drift before its rest is looked at: 1 mV a minute. Common practice, no source. */
const DRIFT_V_PER_S = 1e-3 / 60;
/**
 * What a slow branch that a short rest hides may have left, as a share of the largest part that the circuit has of earlier currents.
 * Common practice, no source.
 */
const HIDDEN_SHARE = 0.3;
/** The same of a quick branch, as a share of R0. Common practice, no source. */
const BRANCH_OF_R0 = 0.3;
/** Factor between the time constants that a quick branch is looked for at, and how many of them at most. */
const FACTOR = 2;
const MOST_TAUS = 5;

/** An effect that a circuit does not hold: what is likely of its size, and how the parameters would move for one of size 1. */
interface Unseen {
  /** Bayes factor against no such effect, times its share of the prior. */
  readonly weight: number;
  /** Mean square of the size, where there is one. */
  readonly square: number;
  readonly response: readonly number[];
}

/**
 * Adds to a chosen circuit's covariance what two effects leave open that a record may hold without showing them: a drift of the
 * voltage whose cause is not the current, which a slow branch takes up, and a branch so quick or small beside the noise that R0
 * and the first branch take it up. Each may be there or not; it counts by its chance once the data are
 * looked at, with what is likely of its size then (`withPrior`). The drift's rate is looked for in a settled rest before the pulse,
 * else in the residuals, the branch in the residuals.
 */
export function withUnseenParts(
  chosen: ChosenCircuit,
  part: PulseWindow,
  shortestTauS: number,
): ChosenCircuit {
  const { circuit, covariance } = chosen;
  if (covariance === null || circuit.covariance === null || !(circuit.residualSdV > 0)) return chosen;
  const jacobian = circuitJacobian(part.window, circuit);
  const drift = byChance(unseenDrift(chosen, part, jacobian));
  const open = [...drift, ...byChance(unseenBranch(chosen, part, shortestTauS, jacobian))];
  const add = (i: number, j: number): number =>
    open.reduce((sum, { square, response }) => sum + square * response[i] * response[j], 0);
  return {
    ...chosen,
    covariance: covariance.map((row, i) => row.map((entry, j) => entry + add(i, j))),
    unseenDrift: drift[0] ?? null,
  };
}

/** The effects of a group, of which a record holds one or none, each by its chance. */
function byChance(group: readonly Unseen[]): UnseenEffect[] {
  const all = 1 + group.reduce((sum, { weight }) => sum + weight, 0);
  return group.map(({ weight, square, response }) => ({ square: (weight / all) * square, response }));
}

/** What is likely of an effect's size: its estimate held to a prior of mean 0. */
function likely(
  size: number,
  variance: number,
  prior: number,
  response: readonly number[],
  share: number,
): Unseen[] {
  const estimate = { value: size, amplitude: size, own: variance, shared: variance, ofAmplitude: variance };
  const found = variance > 0 ? withPrior(estimate, { mean: 0, variance: prior ** 2 }) : null;
  if (found === null) return [];
  return [{ weight: share * found.support, square: found.value ** 2 + found.variance, response }];
}

function unseenDrift(
  { circuit, standardErrorFactor }: ChosenCircuit,
  { window, past, rate }: PulseWindow,
  jacobian: Float64Array[],
): Unseen[] {
  if (circuit.history > circuit.branches) return [];
  const since = scoredValues(
    window,
    window.timeS.map((time) => time - window.timeS[0]),
  );
  if (rate === null || past !== 'settled') {
    // Where no current has just ended, what moves is as likely a drift as what an unseen current left.
    const odds = rate === null ? ODDS : 1;
    // A rest that is still moving is in the fit: only what is left beside its relaxation tells of a drift that goes on.
    const variance = (circuit.residualSdV * standardErrorFactor) ** 2;
    const { free, pull, response } = beside(
      window,
      circuit,
      since,
      circuitResiduals(window, circuit),
      jacobian,
    );
    const prior = Math.max(DRIFT_V_PER_S, hiddenRate(circuit, since[since.length - 1]));
    return free > 0 ? likely(pull / free, variance / free, prior, response, odds) : [];
  }
  const { response } = beside(window, circuit, since, null, jacobian);
  return likely(rate.slopeVPerS, rate.standardErrorVPerS ** 2, DRIFT_V_PER_S, response, ODDS);
}

/** How fast what a slow branch still has of earlier currents may move the voltage, in V/s, where the circuit holds no such branch. */
function hiddenRate(circuit: FittedCircuit, spanS: number): number {
  let largest = 0;
  for (let i = 1; i <= circuit.history; i++)
    largest = Math.max(largest, Math.abs(circuitValue(circuit, `left${i}V`)));
  return spanS > 0 ? (HIDDEN_SHARE * largest) / spanS : 0;
}

function unseenBranch(
  { circuit, standardErrorFactor }: ChosenCircuit,
  { window }: PulseWindow,
  shortestTauS: number,
  jacobian: Float64Array[],
): Unseen[] {
  if (window.lag !== null) return [];
  const slowest = circuit.branches > 0 ? circuitValue(circuit, 'tau1S') / FACTOR : Number.POSITIVE_INFINITY;
  const taus: number[] = [];
  for (let tauS = FACTOR * shortestTauS; tauS < slowest && taus.length < MOST_TAUS; tauS *= FACTOR)
    taus.push(tauS);
  const residuals = circuitResiduals(window, circuit);
  const variance = (circuit.residualSdV * standardErrorFactor) ** 2;
  const prior = BRANCH_OF_R0 * Math.abs(circuitValue(circuit, 'r0Ohm'));
  const [u, d] = [new Float64Array(window.timeS.length), new Float64Array(window.timeS.length)];
  return taus.flatMap((tauS) => {
    branchCurrents(window, coefficientsOfAll(window), tauS, u, d);
    const { free, pull, response } = beside(window, circuit, scoredValues(window, u), residuals, jacobian);
    return free > 0 ? likely(pull / free, variance / free, prior, response, ODDS / taus.length) : [];
  });
}
