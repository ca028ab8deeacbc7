import { readFileSync } from 'node:fs';
import { sharedPath } from '../support/required.ts';

/** One problem of NIST's Statistical Reference Datasets, as kept beside the project. */
export interface NistProblem {
  readonly start1: readonly number[];
  readonly start2: readonly number[];
  readonly certified: readonly number[];
  readonly certifiedStandardDeviation: readonly number[];
  readonly residualSumOfSquares: number;
  readonly residualStandardDeviation: number;
  readonly degreesOfFreedom: number;
  readonly responseTransform: string | null;
  readonly y: readonly number[];
  readonly x: readonly number[] | readonly (readonly number[])[];
}

/** The 27 nonlinear problems. */
export function nistNonlinear(): Record<string, NistProblem> {
  const text = readFileSync(sharedPath('reference/nist_strd_nonlinear.json'), 'utf8');
  return (JSON.parse(text) as { problems: Record<string, NistProblem> }).problems;
}

type Curve = (b: ArrayLike<number>, x: number, x2: number) => number;

const { exp, cos, sin, atan, PI } = Math;
const saturating: Curve = (b, x) => b[0] * (1 - exp(-b[1] * x));
const chwirut: Curve = (b, x) => exp(-b[0] * x) / (b[1] + b[2] * x);
const gauss: Curve = (b, x) =>
  b[0] * exp(-b[1] * x) +
  b[2] * exp(-((x - b[3]) ** 2) / b[4] ** 2) +
  b[5] * exp(-((x - b[6]) ** 2) / b[7] ** 2);
const cubicRatio: Curve = (b, x) =>
  (b[0] + b[1] * x + b[2] * x ** 2 + b[3] * x ** 3) / (1 + b[4] * x + b[5] * x ** 2 + b[6] * x ** 3);
const lanczos: Curve = (b, x) => b[0] * exp(-b[1] * x) + b[2] * exp(-b[3] * x) + b[4] * exp(-b[5] * x);
const wave = (x: number, period: number, a: number, b: number): number =>
  a * cos((2 * PI * x) / period) + b * sin((2 * PI * x) / period);

/** The models as NIST states them, by problem. */
export const nistCurves: Record<string, Curve> = {
  Bennett5: (b, x) => b[0] * (b[1] + x) ** (-1 / b[2]),
  BoxBOD: saturating,
  Chwirut1: chwirut,
  Chwirut2: chwirut,
  DanWood: (b, x) => b[0] * x ** b[1],
  ENSO: (b, x) => b[0] + wave(x, 12, b[1], b[2]) + wave(x, b[3], b[4], b[5]) + wave(x, b[6], b[7], b[8]),
  Eckerle4: (b, x) => (b[0] / b[1]) * exp(-0.5 * ((x - b[2]) / b[1]) ** 2),
  Gauss1: gauss,
  Gauss2: gauss,
  Gauss3: gauss,
  Hahn1: cubicRatio,
  Kirby2: (b, x) => (b[0] + b[1] * x + b[2] * x ** 2) / (1 + b[3] * x + b[4] * x ** 2),
  Lanczos1: lanczos,
  Lanczos2: lanczos,
  Lanczos3: lanczos,
  MGH09: (b, x) => (b[0] * (x ** 2 + x * b[1])) / (x ** 2 + x * b[2] + b[3]),
  MGH10: (b, x) => b[0] * exp(b[1] / (x + b[2])),
  MGH17: (b, x) => b[0] + b[1] * exp(-x * b[3]) + b[2] * exp(-x * b[4]),
  Misra1a: saturating,
  Misra1b: (b, x) => b[0] * (1 - (1 + (b[1] * x) / 2) ** -2),
  Misra1c: (b, x) => b[0] * (1 - (1 + 2 * b[1] * x) ** -0.5),
  Misra1d: (b, x) => (b[0] * b[1] * x) / (1 + b[1] * x),
  Nelson: (b, x, x2) => b[0] - b[1] * x * exp(-b[2] * x2),
  Rat42: (b, x) => b[0] / (1 + exp(b[1] - b[2] * x)),
  Rat43: (b, x) => b[0] / (1 + exp(b[1] - b[2] * x)) ** (1 / b[3]),
  Roszman1: (b, x) => b[0] - b[1] * x - atan(b[2] / (x - b[3])) / PI,
  Thurber: cubicRatio,
};

/** Correct digits: −log₁₀ of the relative error, at most 15. */
export function correctDigits(value: number, certified: number): number {
  if (!Number.isFinite(value)) return 0;
  const error = certified === 0 ? Math.abs(value) : Math.abs(value - certified) / Math.abs(certified);
  return error === 0 ? 15 : Math.min(15, Math.max(0, -Math.log10(error)));
}
