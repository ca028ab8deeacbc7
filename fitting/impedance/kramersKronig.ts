import type { Scatter } from './circuitUncertainty.ts';
import { checkSpectrum, countFrequencies, type Spectrum, sortSpectrum } from './spectrum.ts';
import { BESIDE_ELEMENTS, fitVoigtChain, type VoigtChain } from './voigtChain.ts';

/**
 * - `consistent`: no point departs by more than the limit.
 * - `consistent-but-for-points`: at most one point in ten does.
 * - `inconsistent`: more do; the cell or the set-up changed during the sweep, or the response is not linear.
 * - `too-few-points`: nothing can be said.
 */
export type ConsistencyVerdict =
  | 'consistent'
  | 'consistent-but-for-points'
  | 'inconsistent'
  | 'too-few-points';

/** Whether a spectrum obeys the Kramers–Kronig relations. Points are in the order of falling frequency. */
export interface Consistency {
  readonly verdict: ConsistencyVerdict;
  /** Largest |residual| that is still consistent, as a fraction of |Z|. */
  readonly limit: number;
  /** Elements of the chain; null for `too-few-points`. */
  readonly elements: number | null;
  readonly mu: number | null;
  /** Root mean square of the residuals, as a fraction of |Z|. */
  readonly rmsResidual: number | null;
  readonly largestResidual: number | null;
  readonly largestAtHz: number | null;
  /** Frequencies of the points that depart by more than the limit. */
  readonly departingHz: readonly number[];
  readonly frequencyHz: Float64Array;
  readonly realResidual: Float64Array;
  readonly imaginaryResidual: Float64Array;
}

/** Settings of the check, all with defaults. */
export interface ConsistencyOptions {
  /** Default 0.01, common practice. */
  readonly limit?: number;
  /** The chain grows until μ falls to this. Default 0.85, as the authors propose. */
  readonly mu?: number;
}

/** Frequencies: points of one frequency repeat each other. */
const FEWEST_FREQUENCIES = 8;
const MOST_ELEMENTS = 60;
/** For so many further elements μ must stay low: a dip of a chain that is too short ends sooner. */
const STAYS = 4;
/** Share of points that may depart in a spectrum which is consistent but for them. */
const DEPARTING_SHARE = 0.1;

/**
 * Linear Kramers–Kronig check: a chain of resistances in parallel with capacitances, which obeys the relations by its
 * form, is fitted linearly (`fitVoigtChain`); what it cannot follow does not obey them. The chain grows until
 * μ = 1 − Σ|negative R|/Σ|positive R| falls to 0.85, the sign of fitting noise (M. Schönleber, D. Klotz and
 * E. Ivers-Tiffée, Electrochimica Acta 131 (2014) 20–27), or has as many elements as there are frequencies (60 at most). A dip
 * of μ below that with few elements, from which it rises again, is the chain not yet following the spectrum, and is passed.
 *
 * @throws RangeError for a spectrum that cannot be, a limit that is not positive, or a μ outside 0…1
 */
export function checkKramersKronig(spectrum: Spectrum, options: ConsistencyOptions = {}): Consistency {
  const { limit = 0.01, mu: stop = 0.85 } = options;
  if (!(limit > 0)) throw new RangeError(`limit must be above 0, got ${limit}`);
  if (!(stop > 0 && stop < 1)) throw new RangeError(`mu must lie between 0 and 1, got ${stop}`);
  checkSpectrum(spectrum);
  const sorted = sortSpectrum(spectrum);
  const count = sorted.frequencyHz.length;
  if (countFrequencies(sorted) < FEWEST_FREQUENCIES) return tooFew(limit);
  const chain = chainOf(sorted, stop);
  const size = chain.realResidual.map((real, i) =>
    Math.max(Math.abs(real), Math.abs(chain.imaginaryResidual[i])),
  );
  const largest = size.indexOf(Math.max(...size));
  const departing = [...sorted.frequencyHz].filter((_, i) => size[i] > limit);
  return {
    verdict:
      departing.length === 0
        ? 'consistent'
        : departing.length <= DEPARTING_SHARE * count
          ? 'consistent-but-for-points'
          : 'inconsistent',
    limit,
    elements: chain.elements,
    mu: chain.mu,
    rmsResidual: Math.sqrt(chain.residualSumOfSquares / (2 * count)),
    largestResidual: size[largest],
    largestAtHz: sorted.frequencyHz[largest],
    departingHz: departing,
    frequencyHz: sorted.frequencyHz,
    realResidual: chain.realResidual,
    imaginaryResidual: chain.imaginaryResidual,
  };
}

/** The smallest chain whose μ, and that of the next larger ones, is no longer above `stop`. */
function chainOf(spectrum: Spectrum, stop: number): VoigtChain {
  const most = Math.min(countFrequencies(spectrum), MOST_ELEMENTS);
  let first: VoigtChain | null = null;
  for (let elements = 1; ; elements++) {
    const chain = fitVoigtChain(spectrum, elements);
    if (chain.mu > stop) first = null;
    else first ??= chain;
    if (elements === most) return first ?? chain;
    if (first !== null && elements - first.elements >= STAYS) return first;
  }
}

function tooFew(limit: number): Consistency {
  return {
    verdict: 'too-few-points',
    limit,
    elements: null,
    mu: null,
    rmsResidual: null,
    largestResidual: null,
    largestAtHz: null,
    departingHz: [],
    frequencyHz: new Float64Array(0),
    realResidual: new Float64Array(0),
    imaginaryResidual: new Float64Array(0),
  };
}

/** What the chain leaves of the spectrum: its own scatter, whatever circuit it carries. Null where the check says nothing. */
export function scatterOf({
  elements,
  frequencyHz,
  realResidual,
  imaginaryResidual,
}: Consistency): Scatter | null {
  if (elements === null) return null;
  let sumOfSquares = 0;
  for (const [i, real] of realResidual.entries()) sumOfSquares += real ** 2 + imaginaryResidual[i] ** 2;
  return { sumOfSquares, degreesOfFreedom: 2 * frequencyHz.length - elements - BESIDE_ELEMENTS };
}
