import { aicc } from '../least-squares/index.ts';
import { circuitUncertainty, type Scatter, type WeighedCircuit } from './circuitUncertainty.ts';
import { type FittedImpedance, fitImpedanceCircuit, timeConstantRange } from './fitImpedanceCircuit.ts';
import { countFrequencies, type Spectrum } from './spectrum.ts';

/** Why a circuit was not taken. */
export type ImpedanceRefusal =
  | 'too-few-points'
  | 'not-converged'
  | 'not-identifiable'
  | 'negative-resistance'
  | 'negative-diffusion'
  | 'apex-outside-range'
  | 'arc-too-flat'
  | 'time-constant-uncertain'
  | 'resistance-not-significant'
  | 'diffusion-not-significant'
  | 'aicc-higher';

/** One contender. */
export interface ImpedanceCandidate {
  readonly arcs: number;
  readonly withTail: boolean;
  readonly aicc: number | null;
  /** Scatter as a fraction of |Z|. */
  readonly residualSd: number | null;
  readonly chosen: boolean;
  readonly reason: ImpedanceRefusal | null;
}

/** The circuit that a spectrum carries; `fit` is null where every candidate was refused, each with its reason. */
export interface ChosenImpedance {
  readonly fit: FittedImpedance | null;
  readonly candidates: readonly ImpedanceCandidate[];
}

interface Tried {
  readonly arcs: number;
  readonly withTail: boolean;
  readonly fit: FittedImpedance | null;
  readonly aicc: number | null;
  readonly refusal: ImpedanceRefusal | null;
}

/** Which circuits are tried. */
export interface ChooseImpedanceOptions {
  /** 0 to 2. Default 2. */
  readonly maxArcs?: number;
  /** Whether a diffusion tail is among the contenders: only with it, only without, or both. Default `auto`. */
  readonly tail?: 'auto' | 'always' | 'never';
  /** What a chain that obeys Kramers–Kronig leaves of the spectrum: a circuit that leaves more does not explain it. */
  readonly scatter?: Scatter | null;
  /** Whether the spectrum obeys Kramers–Kronig; where it does not, a circuit has no standard errors. Default true. */
  readonly consistent?: boolean;
}

/** Values beyond what the parameters need: real and imaginary part of each frequency, repeats not counted. */
const SPARE = 3;
/** A resistance or diffusion within so many standard errors of zero is not there. */
const SIGNIFICANT = 2.5;
/** A time constant less certain than this fraction of itself is none. */
const LARGEST_RELATIVE_ERROR = 0.5;

/**
 * Fits 0 to `maxArcs` arcs, without and with a diffusion tail, and takes the smallest AICc among those that the
 * spectrum identifies. An arc is refused where its resistance is negative or within 2.5 standard errors of zero, its apex
 * lies outside the measured frequencies, its time constant is uncertain by more than half of itself, or it is so flat
 * that its exponent stands at the lower bound. The standard errors of what is taken are those of `circuitUncertainty`.
 */
export function chooseImpedanceCircuit(
  spectrum: Spectrum,
  options: ChooseImpedanceOptions = {},
): ChosenImpedance {
  const { maxArcs = 2, tail = 'auto', scatter = null, consistent = true } = options;
  const tails = tail === 'auto' ? [false, true] : [tail === 'always'];
  const tried = tails.flatMap((withTail) =>
    Array.from({ length: maxArcs + 1 }, (_, arcs) => contender(spectrum, arcs, withTail)),
  );
  // A fit that leaves nothing has no AICc and is not to be bettered; of several the smallest circuit stands first.
  const value = (one: Tried): number =>
    one.aicc ?? (one.fit?.residualSumOfSquares === 0 ? -Infinity : Infinity);
  let best: Tried | null = null;
  for (const one of tried) {
    if (one.refusal === null && (best === null || value(one) < value(best))) best = one;
  }
  const fit = best?.fit ?? null;
  return {
    fit:
      best === null || fit === null
        ? null
        : withUncertainty(spectrum, { ...best, fit }, tried, consistent ? scatter : 'inconsistent'),
    candidates: tried.map((one) => ({
      arcs: one.arcs,
      withTail: one.withTail,
      aicc: one.aicc,
      residualSd: one.fit?.residualSd ?? null,
      chosen: one === best,
      reason: one === best ? null : (one.refusal ?? 'aicc-higher'),
    })),
  };
}

/** Refusals of circuits that follow the spectrum, with parts that it does not show. */
const DESCRIBING: readonly (ImpedanceRefusal | null)[] = [
  null,
  'apex-outside-range',
  'time-constant-uncertain',
  'resistance-not-significant',
  'diffusion-not-significant',
];
/** A circuit whose AICc is so far above another's has less than a twentieth of its weight. */
const FAR_ABOVE = 6;

function withUncertainty(
  spectrum: Spectrum,
  best: Tried & { readonly fit: FittedImpedance },
  tried: readonly Tried[],
  scatter: Scatter | 'inconsistent' | null,
): FittedImpedance {
  const least = (ones: readonly Tried[]): number => Math.min(...ones.map((one) => one.aicc ?? Infinity));
  const describing = tried.flatMap(({ fit, refusal, aicc: value, withTail }) =>
    fit !== null && value !== null && DESCRIBING.includes(refusal) ? [{ fit, refusal, value, withTail }] : [],
  );
  const weights = akaikeWeights(describing.map(({ value }) => value));
  // Every cell has diffusion: a sweep that does not show it is not simpler by it, so that a tail costs nothing here.
  const spreadWeights = akaikeWeights(describing.map(({ value, withTail }) => value - (withTail ? 2 : 0)));
  const all = describing.map(
    ({ fit, refusal }, i): WeighedCircuit => ({
      fit,
      weight: weights[i],
      spreadWeight: spreadWeights[i],
      as: refusal === null ? 'identified' : refusal === 'apex-outside-range' ? 'apex-outside' : 'describing',
    }),
  );
  const bettered = best.aicc !== null && best.aicc > least(tried) + FAR_ABOVE;
  return { ...best.fit, parameters: circuitUncertainty(spectrum, best.fit, all, bettered, scatter) };
}

/** exp(−Δ/2) over their sum. */
function akaikeWeights(values: readonly number[]): readonly number[] {
  const least = Math.min(...values);
  const likelihoods = values.map((value) => Math.exp((least - value) / 2));
  const total = likelihoods.reduce((sum, one) => sum + one, 0);
  return likelihoods.map((one) => one / total);
}

function contender(spectrum: Spectrum, arcs: number, withTail: boolean): Tried {
  const parameters = 2 + (withTail ? 1 : 0) + 3 * arcs;
  if (2 * countFrequencies(spectrum) < parameters + SPARE) {
    return { arcs, withTail, fit: null, aicc: null, refusal: 'too-few-points' };
  }
  const fit = fitImpedanceCircuit(spectrum, { arcs, withTail });
  return { arcs, withTail, fit, aicc: aicc(fit).value, refusal: refusalOf(fit, spectrum) };
}

function refusalOf(fit: FittedImpedance, spectrum: Spectrum): ImpedanceRefusal | null {
  if (!fit.converged) return 'not-converged';
  const range = timeConstantRange(spectrum);
  const of = (name: string) => fit.parameters.find((one) => one.name === name);
  const isInsignificant = (name: string): boolean => {
    const { value, standardError } = of(name) ?? { value: 0, standardError: null };
    return standardError === null || value < SIGNIFICANT * standardError;
  };
  if (fit.withTail) {
    const { value, standardError } = of('diffusionCoefficient') ?? { value: 0, standardError: null };
    if (!(value > 0 || value > -SIGNIFICANT * (standardError ?? 0))) return 'negative-diffusion';
  }
  for (const [i, arc] of fit.circuit.arcs.entries()) {
    if (arc.resistanceOhm < 0) return 'negative-resistance';
    const logTau = Math.log(arc.timeConstantS);
    if (logTau < range.low || logTau > range.high) return 'apex-outside-range';
    if (of(`arc${i + 1}Exponent`)?.reason === 'at-lower-bound') return 'arc-too-flat';
  }
  if (fit.covariance === null) return 'not-identifiable';
  for (const [i, arc] of fit.circuit.arcs.entries()) {
    const tauError = of(`arc${i + 1}TimeConstantS`)?.standardError ?? Infinity;
    if (tauError > LARGEST_RELATIVE_ERROR * arc.timeConstantS) return 'time-constant-uncertain';
    if (isInsignificant(`arc${i + 1}ResistanceOhm`)) return 'resistance-not-significant';
  }
  if (fit.withTail && isInsignificant('diffusionCoefficient')) return 'diffusion-not-significant';
  return null;
}
