import type { PulseCircuit } from '../../../fitting/circuit/index.ts';
import {
  type ChosenCircuit,
  chosenError,
  circuitResiduals,
  circuitValue,
  isSurpassed,
  slopeOpen,
  withSharedSlope,
  withSlopeUncertainty,
} from '../../../fitting/circuit/index.ts';
import type { CircuitFit, FitVerdict } from '../../contract/evaluatedPulse.ts';
import { checkResiduals } from '../checkResiduals.ts';
import { conditionsOf } from './circuitConditions.ts';
import type { PulseFindings } from './pulseFindings.ts';
import { withoutFixture } from './withoutFixture.ts';

/**
 * A fitted circuit with its errors widened for correlated residuals and quantisation, without the fixture.
 */
export function presentCircuit(findings: PulseFindings, index: number): CircuitFit | null {
  const { settings } = findings;
  const fitted = findings.circuits.circuits[index];
  if (fitted.chosen === null) return null;
  const slope = slopeOpen(fitted, fitted.chosen, plausibleSlope(findings, index));
  const chosen = withSharedSlope(withSlopeUncertainty(fitted.chosen, slope));
  const { circuit, residuals, standardErrorFactor: factor } = chosen;
  const at = (name: string): number | null => {
    const found = circuit.parameters.find((parameter) => parameter.name === name);
    return found === undefined ? null : found.value;
  };
  const error = (name: string): number | null => chosenError(chosen, name);
  const r0 = withoutFixture(
    { valueOhm: at('r0Ohm') as number, standardUncertaintyOhm: error('r0Ohm') },
    settings,
  );
  return {
    branches: circuit.branches,
    ocvV: at('ocvV') as number,
    ocvStandardErrorV: error('ocvV'),
    ocvSlopeVPerAs: at('slopeVPerAs') ?? 0,
    ocvSlopeStandardErrorVPerAs: error('slopeVPerAs'),
    r0Ohm: r0.valueOhm,
    r0StandardErrorOhm: r0.standardUncertaintyOhm,
    shortestTauS: fitted.shortestTauS,
    r1Ohm: at('r1Ohm'),
    r1StandardErrorOhm: error('r1Ohm'),
    tau1S: at('tau1S'),
    tau1StandardErrorS: error('tau1S'),
    r2Ohm: at('r2Ohm'),
    r2StandardErrorOhm: error('r2Ohm'),
    tau2S: at('tau2S'),
    tau2StandardErrorS: error('tau2S'),
    r3Ohm: at('r3Ohm'),
    r3StandardErrorOhm: error('r3Ohm'),
    tau3S: at('tau3S'),
    tau3StandardErrorS: error('tau3S'),
    residualSdV: circuit.residualSdV,
    termination: circuit.termination,
    aicc: chosen.aicc,
    covariance: chosen.covariance && {
      names: circuit.parameters.map((parameter) => parameter.name),
      matrix: chosen.covariance.map((row) => [...row]),
    },
    residualCheck: {
      verdict: residuals.verdict,
      lagOneCorrelation: residuals.lagOneCorrelation,
      largestV: residuals.largestV,
    },
    residualChecks: checkResiduals([...circuitResiduals(fitted.window, circuit)]),
    fitVerdict: verdictOf(findings, index, chosen),
    conditional: conditionsOf(fitted, fitted.chosen, slope),
    history: historyOf(chosen),
    edges: edgesOf(fitted),
    standardErrorFactor: factor,
    firstRow: findings.rowOf(fitted.start),
    lastRow: findings.rowOf(fitted.end - 1),
    rows: circuit.rows,
    candidates: chosen.candidates.map(
      ({ branches, withSlope, withDrift, aicc, residualSdV, chosen: taken, reason }) => ({
        branches,
        withSlope,
        withDrift,
        aicc,
        residualSdV,
        chosen: taken,
        reason,
      }),
    ),
  };
}

/** Share of a pulse's change of voltage above which a residual makes the fit a poor one. */
const POOR_SHARE = 0.05;

/** What the residuals make of a circuit. */
function verdictOf(
  { record, settings, finding, readings }: PulseFindings,
  index: number,
  chosen: ChosenCircuit,
): FitVerdict {
  const { residuals, circuit } = chosen;
  const { pulse, loadedEnd, baseAt } = readings[index];
  const last = loadedEnd - 1;
  const movedV = Math.abs(record.voltageV[last] - baseAt(record.timeS[pulse.start - 1]).voltageV);
  const shareOfPulse = movedV > 0 ? residuals.largestV / movedV : null;
  const beside = { largestResidualV: residuals.largestV, shareOfPulse };
  const noise = 6 * Math.max(finding.voltageNoiseV, residuals.verdict === 'white' ? circuit.residualSdV : 0);
  if (residuals.largestV > noise && (shareOfPulse ?? 1) > POOR_SHARE) {
    return { code: 'poor', reason: 'large-residual', ...beside };
  }
  if (residuals.verdict === 'correlated')
    return { code: 'fit-only', reason: 'residuals-correlated', ...beside };
  if (residuals.verdict === 'too-few') return { code: 'fit-only', reason: 'too-few-rows', ...beside };
  // A process with a spread of time constants, such as diffusion, takes as many branches as it is offered.
  if (circuit.branches > 0 && circuit.branches === settings.maxBranches) {
    return { code: 'fit-only', reason: 'as-many-branches-as-tried', ...beside };
  }
  if (isSurpassed(chosen)) return { code: 'fit-only', reason: 'better-fit-refused', ...beside };
  return { code: 'adequate', reason: null, ...beside };
}

/** Rise of the OCV from empty to full that a slope not fitted may have, V. Common practice, no source. */
const OCV_RISE_V = 1;
/** Highest rate that a pulse is taken for where the rated capacity is not known, in C. Common practice, no source. */
const PULSE_RATE_C = 3;

/** Standard deviation of the slope of the OCV before the record is looked at, V per A s. */
function plausibleSlope({ settings, readings }: PulseFindings, index: number): number {
  const capacityAh = settings.ratedCapacityAh ?? Math.abs(readings[index].pulse.currentA) / PULSE_RATE_C;
  return OCV_RISE_V / (3600 * capacityAh);
}

/** What earlier currents left at the first row, term by term. */
function historyOf({ circuit }: ChosenCircuit): CircuitFit['history'] {
  return Array.from({ length: circuit.history }, (_, i) =>
    i < circuit.branches
      ? { leftV: circuitValue(circuit, `left${i + 1}V`), tauS: circuitValue(circuit, `tau${i + 1}S`) }
      : { leftV: circuitValue(circuit, 'driftV'), tauS: circuitValue(circuit, 'tauDriftS') },
  );
}

function edgesOf({ on, off, shift }: PulseCircuit): CircuitFit['edges'] {
  return {
    beginTimeS: on.momentS + shift.onS,
    endTimeS: off === null ? null : off.momentS + shift.offS,
    openS: 2 * on.halfWidthS,
  };
}
