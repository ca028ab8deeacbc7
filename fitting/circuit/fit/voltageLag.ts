import { aicc } from '../../least-squares/index.ts';
import { medianOf, scaledMad } from '../../numeric/index.ts';
import type { Pulse, RecordColumns, StepFinding } from '../../records/index.ts';
import { type EdgeShape, type PulseWindow, pulseWindow } from '../window/pulseWindow.ts';
import { edgeAmplitudes } from './circuitResiduals.ts';
import { circuitValue, type FittedCircuit, fitCircuit } from './fitCircuit.ts';

/** A first-order lag of a record's voltage channel. */
export interface VoltageLag {
  readonly lagS: number;
  /** From the scatter between pulses. */
  readonly standardErrorS: number;
}

/** Pulses that the lag is looked for on, spread over the record; the half that tell it best decide. */
const SAMPLE = 12;
/** Relaxation that counts for it, in s. */
const RELAXATION_S = 60;
/**
 * Share of the step that shows at the first reading, above which no channel lags: a lag of the length of the
 * interval lets 1 − e⁻¹ through.
 */
const AT_ONCE = 0.85;
/** Share of R0·ΔI that may show at the edge itself, at half of the edges less than this. */
const AT_EDGE = 0.3;
/** Scatter between the lags of single pulses, as a share of their median, above which they share none. */
const AGREEMENT = 0.1;
/**
 * By how much AICc may be higher with the lag, for each pulse: from about there on the higher model has considerably
 * less support (Burnham and Anderson, Model Selection and Multimodel Inference, 2002, 2.6, from memory).
 */
const MARGIN = 4;

/**
 * Looks for a first-order lag of the voltage channel: a time constant that all edges of a record share,
 * whatever the SOC and the current, and through which the whole step passes, R0 and all.
 *
 * No cell does that: its ohmic part answers at once, and its charge transfer changes with SOC. So a lag is
 * accepted where (1) the pulses that tell it best agree on it, each by itself, within a tenth; (2) the circuit
 * seen through it has no higher AICc on them, all readings counted, than the circuit with one more branch seen
 * directly (that one has it much higher where the edges fall at other times than the rows say); (3) the voltage
 * at the edges themselves, which is left free, shows less than 0.3 of R0·ΔI at half of them: below 0 where the
 * edge came late. The lag is where the profile likelihood Σ nₚ/2·ln RSSₚ of those pulses is highest; its error is
 * the sandwich estimate with the pulses as clusters (White, Econometrica 50 (1982) 1).
 *
 * @returns null where there is no lag, or the readings are too far apart to show one
 */
export function findVoltageLag(
  record: RecordColumns,
  finding: StepFinding,
  pulses: readonly Pulse[],
): VoltageLag | null {
  const sample = sampleOf(record, pulses);
  if (sample.length < 3 || shareAtOnce(record, sample) > AT_ONCE) return null;
  const sight = new Sight(record, finding);
  const telling = tellingPulses(sight, sample);
  if (telling === null) return null;
  const lagS = bestLag(sight, telling);
  const standardErrorS = standardError(sight, telling.pulses, lagS);
  return Number.isFinite(standardErrorS) && isChannels(sight, telling.pulses, lagS)
    ? { lagS, standardErrorS }
    : null;
}

/** Rows after each edge within which a lag shows. */
const ROWS_AFTER = 8;

/** Pulses with readings close together after both edges. */
function sampleOf(record: RecordColumns, pulses: readonly Pulse[]): Pulse[] {
  const { timeS } = record;
  const fit = pulses.filter(({ start, end }) => {
    if (end - start < 3 * ROWS_AFTER || end + ROWS_AFTER >= timeS.length) return false;
    const onS = timeS[start + ROWS_AFTER] - timeS[start - 1];
    const offS = timeS[end + ROWS_AFTER] - timeS[end - 1];
    return onS > 0 && offS > 0 && offS < 1.5 * onS && timeS[end - 1] - timeS[start] > 3 * onS;
  });
  const stride = Math.max(1, fit.length / SAMPLE);
  return Array.from({ length: Math.min(SAMPLE, fit.length) }, (_, k) => fit[Math.floor((k + 0.5) * stride)]);
}

/** Median over both edges of the step's share that the first reading shows. */
function shareAtOnce({ voltageV, currentA }: RecordColumns, sample: readonly Pulse[]): number {
  const shares = sample.flatMap(({ start, end }) =>
    [start, end].map((row) => {
      const ohm = (to: number): number =>
        (voltageV[to] - voltageV[row - 1]) / (currentA[to] - currentA[row - 1]);
      return ohm(row) / ohm(row + ROWS_AFTER);
    }),
  );
  return medianOf(shares.filter(Number.isFinite));
}

/** One pulse seen through a lag. */
interface Seen extends PulseWindow {
  readonly circuit: FittedCircuit;
}

/** Pulses of a record, seen through a lag or directly. */
class Sight {
  readonly record: RecordColumns;
  private readonly finding: StepFinding;

  constructor(record: RecordColumns, finding: StepFinding) {
    this.record = record;
    this.finding = finding;
  }

  through(pulse: Pulse, lagS: number): Seen {
    const part = this.windowOf(pulse, 'sharp', lagS);
    const history = part.past === 'relaxing' ? 2 : 0;
    const circuit = fitCircuit(part.window, { branches: 2, withSlope: true, history, quick: true });
    return { ...part, circuit };
  }

  directly(pulse: Pulse, shape: EdgeShape): FittedCircuit {
    const { window, past } = this.windowOf(pulse, shape, null);
    const history = past === 'relaxing' ? 3 : 0;
    return fitCircuit(window, { branches: 3, withSlope: true, history, quick: true });
  }

  /** −ln of the profile likelihood of a lag on one pulse. */
  cost(pulse: Pulse, lagS: number): number {
    const { circuit } = this.through(pulse, lagS);
    // Without any noise a fit may leave nothing.
    return 0.5 * circuit.rows * Math.log(Math.max(circuit.residualSumOfSquares, Number.MIN_VALUE));
  }

  private windowOf(pulse: Pulse, shape: EdgeShape, lagS: number | null): PulseWindow {
    return pulseWindow(this.record, this.finding, pulse, { shape, deadS: 0, lagS }, RELAXATION_S);
  }
}

/** Pulses that agree on a lag. */
interface Telling {
  readonly pulses: readonly Pulse[];
  /** Median of their own lags. */
  readonly lagS: number;
}

/** Step between the lags tried, as a factor, and how many. */
const FACTOR = 1.25;
const TRIED = 12;

/** The half of the pulses whose own lags are surest; null where they do not agree. */
function tellingPulses(sight: Sight, sample: readonly Pulse[]): Telling | null {
  const { timeS } = sight.record;
  const intervals = sample.map(({ start }) => (timeS[start + ROWS_AFTER] - timeS[start]) / ROWS_AFTER);
  const shortestS = 0.3 * medianOf(intervals);
  const lags = Array.from({ length: TRIED }, (_, k) => shortestS * FACTOR ** k);
  const own: { pulse: Pulse; lagS: number; bend: number }[] = [];
  for (const [k, pulse] of sample.entries()) {
    // Where all that are left could not make half of the sample, none needs a look.
    if (2 * (own.length + sample.length - k) < sample.length) return null;
    const costs = lags.map((lagS) => sight.cost(pulse, lagS));
    const least = costs.indexOf(Math.min(...costs));
    if (least < 1 || least === TRIED - 1) continue;
    const { offset, bend } = parabola(costs.slice(least - 1, least + 2));
    if (bend > 0) own.push({ pulse, lagS: lags[least] * FACTOR ** offset, bend });
  }
  if (2 * own.length < sample.length) return null;
  own.sort((a, b) => b.bend - a.bend);
  const surest = own.slice(0, Math.max(3, Math.ceil(own.length / 2)));
  const lagS = medianOf(surest.map((one) => one.lagS));
  const scatterS = scaledMad(surest.map((one) => one.lagS));
  return surest.length < 3 || scatterS > AGREEMENT * lagS
    ? null
    : { pulses: surest.map((one) => one.pulse), lagS };
}

/** Lowest point of the parabola through three values at −1, 0 and 1, and its second derivative. */
function parabola([below, here, above]: readonly number[]): { offset: number; bend: number } {
  const bend = below - 2 * here + above;
  const offset = bend > 0 ? (0.5 * (below - above)) / bend : 0;
  return { offset: Math.max(-1, Math.min(1, offset)), bend };
}

/** The lag of the highest likelihood of all pulses together. */
function bestLag(sight: Sight, { pulses, lagS: first }: Telling): number {
  let lagS = first;
  for (const step of [0.1, 0.05, 0.02]) {
    const costs = [-1, 0, 1].map((side) =>
      pulses.reduce((sum, pulse) => sum + sight.cost(pulse, lagS * Math.exp(side * step)), 0),
    );
    lagS *= Math.exp(parabola(costs).offset * step);
  }
  return lagS;
}

/**
 * From the slopes and the bends of the pulses' own likelihoods beside the best lag, with the factor G/(G − 1) on
 * the variance that G clusters ask for (Cameron and Miller, J. Human Resources 50 (2015) 317, from memory).
 */
function standardError(sight: Sight, pulses: readonly Pulse[], lagS: number): number {
  const step = 0.05;
  let bends = 0;
  let square = 0;
  for (const pulse of pulses) {
    const costs = [-1, 0, 1].map((side) => sight.cost(pulse, lagS * Math.exp(side * step)));
    bends += parabola(costs).bend / step ** 2;
    square += ((costs[2] - costs[0]) / (2 * step)) ** 2;
  }
  const few = pulses.length / (pulses.length - 1);
  return bends > 0 ? (lagS * Math.sqrt(few * square)) / bends : Number.POSITIVE_INFINITY;
}

/** Whether the time constant is the channel's, not a quick branch of the cell. */
function isChannels(sight: Sight, pulses: readonly Pulse[], lagS: number): boolean {
  const through = pulses.map((pulse) => sight.through(pulse, lagS));
  // Two amplitudes of edges in each pulse, and one lag for all.
  const lagged = through.reduce((sum, { circuit }) => sum + criterion(circuit, 2), 2);
  const direct = (shape: EdgeShape): number =>
    pulses.reduce((sum, pulse) => sum + criterion(sight.directly(pulse, shape), 0), 0);
  if (lagged > Math.min(direct('sharp'), direct('linear')) + MARGIN * pulses.length) return false;
  return medianOf(through.flatMap(sharesAtEdge)) < AT_EDGE;
}

/** AICc with some parameters more than the circuit has, and as many rows more. */
function criterion(circuit: FittedCircuit, more: number): number {
  const { value } = aicc({
    residualSumOfSquares: circuit.residualSumOfSquares,
    points: circuit.rows + more,
    freeParameters: circuit.parameters.length + more,
  });
  return value ?? Infinity;
}

/** Voltage at each edge of a pulse itself, as a share of R0·ΔI. */
function sharesAtEdge({ window, circuit }: Seen): number[] {
  return edgeAmplitudes(window, circuit).map(({ edge, atEdgeV }) => {
    const { currentA } = window;
    const stepA = currentA[edge.end - 1] - currentA[edge.start - 1];
    return atEdgeV / (stepA * circuitValue(circuit, 'r0Ohm'));
  });
}
