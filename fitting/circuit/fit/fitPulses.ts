import type { Pulse } from '../../records/pulses.ts';
import type { RecordColumns } from '../../records/record.ts';
import { settlingTime } from '../../records/settlingTime.ts';
import type { StepFinding } from '../../records/steps.ts';
import { type EdgeReading, type EdgeShape, type PulseWindow, pulseWindow } from '../window/pulseWindow.ts';
import { type ChosenCircuit, chooseCircuit, SHORTEST_OF_INTERVAL } from './chooseCircuit.ts';
import { fitCircuit } from './fitCircuit.ts';
import { withLagUncertainty } from './lagUncertainty.ts';
import { tauBounds } from './tauRange.ts';
import { findVoltageLag, type VoltageLag } from './voltageLag.ts';

/** The circuit of one pulse, or why there is none. */
export interface PulseCircuit extends PulseWindow {
  readonly chosen: ChosenCircuit | null;
  readonly reason: 'too-few-rows' | 'no-fit' | null;
  /** Shortest time constant that would pass as a branch: what settles quicker is in R0. */
  readonly shortestTauS: number;
}

/** The circuits of all pulses of a record. */
export interface PulseCircuits {
  readonly circuits: readonly PulseCircuit[];
  /** How the current was taken to change between rows at the edges of steps. */
  readonly edges: EdgeShape;
  /** Time after every edge whose readings did not count. */
  readonly deadS: number;
  /** Lag of the voltage channel, through which the circuits were fitted; then no reading is left out. */
  readonly voltageLag: VoltageLag | null;
}

/** Pulses on which the shape of the edges is decided. */
const EDGE_SAMPLE = 4;

/**
 * Fits a circuit to every pulse of a record.
 *
 * Whether the current jumped right after the row before an edge or rose in between, no row tells; the shape
 * is taken that leaves the smaller residuals on a few pulses spread over the record. Where the voltage channel
 * lags (`findVoltageLag`), the shape does not matter and the circuits are fitted through the lag; else the
 * readings that have not settled are left out.
 *
 * An edge that really falls a time δ away from where it is taken leaves about R·δ/τ of every branch in R0, which
 * no standard error holds.
 *
 * @param maxBranches 0 to 3
 */
export function fitPulses(
  record: RecordColumns,
  finding: StepFinding,
  pulses: readonly Pulse[],
  maxBranches: number,
): PulseCircuits {
  const { steps, voltageResolutionV } = finding;
  const voltageLag = findVoltageLag(record, steps, pulses);
  const edges: EdgeReading =
    voltageLag === null
      ? directReading(record, finding, pulses)
      : { shape: 'sharp', deadS: 0, lagS: voltageLag.lagS };
  const circuits = pulses.map((pulse): PulseCircuit => {
    const part = pulseWindow(record, steps, pulse, edges);
    const shortestTauS = SHORTEST_OF_INTERVAL * tauBounds(part.window).intervalS;
    if (part.window.scoredRows < 6) return { ...part, shortestTauS, chosen: null, reason: 'too-few-rows' };
    const chosen = chooseCircuit(part.window, { maxBranches, resolutionV: voltageResolutionV });
    if (chosen === null) return { ...part, shortestTauS, chosen, reason: 'no-fit' };
    if (voltageLag === null || part.window.lag === null)
      return { ...part, shortestTauS, chosen, reason: null };
    const lagS = voltageLag.lagS + voltageLag.standardErrorS;
    const longer = pulseWindow(record, steps, pulse, { ...edges, lagS });
    return { ...part, shortestTauS, chosen: withLagUncertainty(chosen, longer.window), reason: null };
  });
  return { circuits, edges: edges.shape, deadS: edges.deadS, voltageLag };
}

/** Edges as they are where no channel lags, unsettled readings left out. */
function directReading(record: RecordColumns, finding: StepFinding, pulses: readonly Pulse[]): EdgeReading {
  const { scale } = finding;
  const deadS = 2 * settlingTime(record, pulses, 3 * scale.loadNoiseA + scale.resolutionA);
  return { shape: chooseEdges(record, finding, pulses, deadS), deadS, lagS: null };
}

function chooseEdges(
  record: RecordColumns,
  finding: StepFinding,
  pulses: readonly Pulse[],
  deadS: number,
): EdgeShape {
  const longEnough = pulses.filter((pulse) => pulse.end - pulse.start >= 10);
  const stride = Math.max(1, Math.floor(longEnough.length / EDGE_SAMPLE));
  let balance = 0;
  for (let k = Math.floor(stride / 2); k < longEnough.length; k += stride) {
    const sums = (['sharp', 'linear'] as const).map((shape) => {
      const { window } = pulseWindow(record, finding.steps, longEnough[k], { shape, deadS, lagS: null });
      return fitCircuit(window, { branches: 1 }).residualSumOfSquares;
    });
    if (sums[0] > 0 && sums[1] > 0) balance += Math.log(sums[0] / sums[1]);
  }
  return balance > 0 ? 'linear' : 'sharp';
}
