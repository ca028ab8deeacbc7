import type { Pulse, RecordColumns, StepFinding } from '../../records/index.ts';
import { settlingTime } from '../../records/index.ts';
import {
  type EdgeReading,
  type EdgeShape,
  type EdgeShift,
  type PulseWindow,
  pulseWindow,
} from '../window/pulseWindow.ts';
import { chooseCircuit, chosenOn } from './chooseCircuit.ts';
import type { ChosenCircuit } from './chosenCircuit.ts';
import { SHORTEST_OF_INTERVAL } from './circuitRefusal.ts';
import { endFurther, placeOfEdges, withEdgeUncertainty } from './edgeUncertainty.ts';
import { type FittedCircuit, fitCircuit } from './fitCircuit.ts';
import { withLagUncertainty } from './lagUncertainty.ts';
import { tauBounds } from './tauRange.ts';
import { withUnseenParts } from './unseenParts.ts';
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

/** Rounds in which the end of a pulse is looked for beside a rough circuit. */
const EDGE_ROUNDS = 3;

/**
 * Fits a circuit to every pulse of a record.
 *
 * When the current really changed between two rows, no row tells. The edges are taken at the middle of what the rows
 * leave open, moved to where the relaxation asks for them, and what is still open is in the covariance
 * (`withEdgeUncertainty`): about R·δ/τ of every branch may belong to R0. Where the voltage channel lags
 * (`findVoltageLag`), the circuits are fitted through the lag; else the readings that have not settled are left out.
 *
 * @param maxBranches 0 to 3
 */
export function fitPulses(
  record: RecordColumns,
  finding: StepFinding,
  pulses: readonly Pulse[],
  maxBranches: number,
): PulseCircuits {
  const voltageLag = findVoltageLag(record, finding, pulses);
  const reading: EdgeReading =
    voltageLag === null
      ? { shape: 'between', deadS: 2 * slowSettling(record, finding, pulses), lagS: null }
      : { shape: 'sharp', deadS: 0, lagS: voltageLag.lagS };
  const circuits = pulses.map((pulse) =>
    fitPulse(record, finding, pulse, { reading, voltageLag, maxBranches }),
  );
  return { circuits, edges: reading.shape, deadS: reading.deadS, voltageLag };
}

/** Rows from which on a current that settles slowly does so for the voltage channel too. */
const SLOW_ROWS = 2;

/** How long the current takes to settle where several rows show it on its way; else 0. */
function slowSettling(record: RecordColumns, finding: StepFinding, pulses: readonly Pulse[]): number {
  const { scale } = finding;
  const toleranceA = 3 * scale.loadNoiseA + scale.resolutionA;
  const slow = pulses.filter(({ start, end, currentA }) => {
    for (let row = start; row < Math.min(end, start + SLOW_ROWS); row++) {
      if (Math.abs(record.currentA[row] - currentA) <= toleranceA) return false;
    }
    return true;
  });
  return 2 * slow.length > pulses.length ? settlingTime(record, slow, toleranceA) : 0;
}

interface FitSettings {
  readonly reading: EdgeReading;
  readonly voltageLag: VoltageLag | null;
  readonly maxBranches: number;
}

function fitPulse(
  record: RecordColumns,
  finding: StepFinding,
  pulse: Pulse,
  { reading, voltageLag, maxBranches }: FitSettings,
): PulseCircuit {
  const placed = new PlacedWindow(record, finding, pulse, reading);
  placed.roughly();
  const { part } = placed;
  const { voltageResolutionV: resolutionV } = finding;
  const shortestTauS = SHORTEST_OF_INTERVAL * tauBounds(part.window).intervalS;
  if (part.window.scoredRows < 6) return { ...part, shortestTauS, chosen: null, reason: 'too-few-rows' };
  const chosen = chooseCircuit(part.window, {
    maxBranches,
    resolutionV,
    relaxing: part.past === 'relaxing',
  });
  if (chosen === null) return { ...part, shortestTauS, chosen, reason: 'no-fit' };
  if (voltageLag === null || part.window.lag === null) {
    const { togetherS } = placed;
    const moved = placed.beside(chosen.circuit) ? chosenOn(placed.part.window, chosen, resolutionV) : null;
    const better = moved !== null && !fitsWorse(moved.circuit, chosen.circuit);
    const at = better ? placed : { part, togetherS };
    const withEdges = withEdgeUncertainty(better ? moved : chosen, at.part, at.togetherS);
    const whole = withUnseenParts(withEdges, at.part, shortestTauS);
    return { ...at.part, shortestTauS, chosen: withLevelUncertainty(whole, finding, pulse), reason: null };
  }
  const lagS = voltageLag.lagS + voltageLag.standardErrorS;
  const longer = pulseWindow(record, finding, pulse, { ...reading, lagS });
  const lagged = withLagUncertainty(chosen, longer.window);
  return { ...part, shortestTauS, chosen: withLevelUncertainty(lagged, finding, pulse), reason: null };
}

/**
 * Adds what a current that is read in steps, and stays within one, leaves open of its level: all resistances are off by one and the
 * same share.
 */
function withLevelUncertainty(chosen: ChosenCircuit, finding: StepFinding, pulse: Pulse): ChosenCircuit {
  const { circuit, covariance } = chosen;
  const share = finding.levelStepA / Math.sqrt(12) / Math.abs(pulse.currentA - pulse.baseCurrentA);
  if (covariance === null || !(share > 0)) return chosen;
  const off = circuit.parameters.map(({ name, value }) => (/^r\d/.test(name) ? share * value : 0));
  return {
    ...chosen,
    covariance: covariance.map((row, i) => row.map((entry, j) => entry + off[i] * off[j])),
  };
}

/** By how much the squares may grow, in residual variances: a move back to the middle of what the rows leave open costs some. */
const ALLOWED_GROWTH = 4;

/** Whether a circuit fits worse than another on the same rows with the edges elsewhere. */
function fitsWorse(circuit: FittedCircuit, before: FittedCircuit): boolean {
  const allowed = ALLOWED_GROWTH * before.residualSdV ** 2;
  return circuit.residualSumOfSquares > before.residualSumOfSquares + allowed;
}

/** Share of what the rows leave open below which a move of an edge changes nothing. */
const MOVES = 0.01;

/** The window of a pulse with its edges where the rows and the relaxation have them. */
class PlacedWindow {
  part: PulseWindow;
  togetherS: number;
  private apartS = 0;
  private readonly again: (shift: EdgeShift) => PulseWindow;
  private readonly fixed: boolean;

  constructor(record: RecordColumns, finding: StepFinding, pulse: Pulse, reading: EdgeReading) {
    this.again = (shift) => pulseWindow(record, finding, pulse, reading, undefined, shift);
    this.part = pulseWindow(record, finding, pulse, reading);
    this.togetherS = placeOfEdges(this.part, 0).togetherS;
    this.fixed = reading.shape !== 'between' || this.part.off === null || this.part.window.scoredRows < 20;
  }

  /** Before any number of branches is known: beside a circuit so rich that it leaves nothing but the edges. */
  roughly(): void {
    let before: { part: PulseWindow; togetherS: number; apartS: number; rough: FittedCircuit } | null = null;
    for (let round = 0; round <= EDGE_ROUNDS && !this.fixed; round++) {
      const rough = roughCircuit(this.part);
      // A circuit that has not settled pulls the edges anywhere: a move that fits worse is taken back.
      if (before !== null && (rough === null || fitsWorse(rough, before.rough))) {
        const { part, togetherS, apartS } = before;
        Object.assign(this, { part, togetherS, apartS });
        return;
      }
      if (rough === null || round === EDGE_ROUNDS) return;
      const { part, togetherS, apartS } = this;
      before = { part, togetherS, apartS, rough };
      if (!this.beside(rough)) return;
    }
  }

  /** Moves the end of the pulse to where it fits best beside a circuit; whether it moved. */
  beside(circuit: FittedCircuit): boolean {
    if (this.fixed) return false;
    const { on, off } = this.part;
    const openS = on.halfWidthS + (off?.halfWidthS ?? 0);
    const furtherS = endFurther(this.part, circuit, this.apartS);
    if (!Number.isFinite(furtherS) || Math.abs(furtherS) <= MOVES * openS) return false;
    const { shift, togetherS } = placeOfEdges(this.part, this.apartS + furtherS);
    this.apartS = shift.offS - shift.onS;
    this.togetherS = togetherS;
    this.part = this.again(shift);
    return true;
  }
}

/** A circuit rich enough that what is left of the edges is not the circuit's; null where none can be fitted. */
function roughCircuit(part: PulseWindow): FittedCircuit | null {
  for (const branches of [3, 2, 1]) {
    const history = part.past === 'relaxing' ? branches : 0;
    const circuit = fitCircuit(part.window, { branches, withSlope: true, history, quick: true });
    if (circuit.converged && circuit.covariance !== null) return circuit;
  }
  return null;
}
