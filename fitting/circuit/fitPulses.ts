import type { Pulse } from '../records/pulses.ts';
import type { RecordColumns } from '../records/record.ts';
import { settlingTime } from '../records/settlingTime.ts';
import type { StepFinding } from '../records/steps.ts';
import { type ChosenCircuit, chooseCircuit } from './chooseCircuit.ts';
import { fitCircuit } from './fitCircuit.ts';
import { type EdgeShape, type PulseWindow, pulseWindow } from './pulseWindow.ts';

/** The circuit of one pulse, or why there is none. */
export interface PulseCircuit extends PulseWindow {
  readonly chosen: ChosenCircuit | null;
  readonly reason: 'too-few-rows' | 'no-fit' | null;
}

/** The circuits of all pulses of a record. */
export interface PulseCircuits {
  readonly circuits: readonly PulseCircuit[];
  /** How the current was taken to change between rows at the edges of steps. */
  readonly edges: EdgeShape;
  /** Time after every edge whose readings did not count. */
  readonly deadS: number;
}

/** Pulses on which the shape of the edges is decided. */
const EDGE_SAMPLE = 4;

/**
 * Fits a circuit to every pulse of a record.
 *
 * Whether the current jumped right after the row before an edge or rose in between, no row tells; the shape
 * is taken that leaves the smaller residuals on a few pulses spread over the record.
 *
 * @param maxBranches 0 to 3
 */
export function fitPulses(
  record: RecordColumns,
  finding: StepFinding,
  pulses: readonly Pulse[],
  maxBranches: number,
): PulseCircuits {
  const { scale, steps, voltageResolutionV } = finding;
  const deadS = 2 * settlingTime(record, pulses, 3 * scale.loadNoiseA + scale.resolutionA);
  const edges = chooseEdges(record, finding, pulses, deadS);
  const circuits = pulses.map((pulse): PulseCircuit => {
    const part = pulseWindow(record, steps, pulse, edges, deadS);
    if (part.window.scoredRows < 6) return { ...part, chosen: null, reason: 'too-few-rows' };
    const chosen = chooseCircuit(part.window, { maxBranches, resolutionV: voltageResolutionV });
    return { ...part, chosen, reason: chosen === null ? 'no-fit' : null };
  });
  return { circuits, edges, deadS };
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
    const sums = (['sharp', 'linear'] as const).map((edges) => {
      const { window } = pulseWindow(record, finding.steps, longEnough[k], edges, deadS);
      return fitCircuit(window, { branches: 1 }).residualSumOfSquares;
    });
    if (sums[0] > 0 && sums[1] > 0) balance += Math.log(sums[0] / sums[1]);
  }
  return balance > 0 ? 'linear' : 'sharp';
}
