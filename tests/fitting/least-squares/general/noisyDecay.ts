import type {
  FitModel,
  FitParameter,
  FitProblem,
  FitResult,
} from '../../../../fitting/least-squares/types.ts';
import { normalSource, seededRandom } from '../../../../fitting/statistics/random.ts';

export const truth = [2, 0.7, 0.5];
export const x = Float64Array.from({ length: 30 }, (_, i) => i * 0.3);
export const decay = (points: Float64Array): FitModel => ({
  evaluate(b, out) {
    points.forEach((value, i) => {
      out[i] = b[0] * Math.exp(-b[1] * value) + b[2];
    });
  },
});

/** Noisy decay with an offset, repeatable from the seed. */
export function problemOf(
  seed: number,
  change: (p: FitParameter, i: number) => Partial<FitParameter> = () => ({}),
): FitProblem {
  const normal = normalSource(seededRandom(seed));
  const parameters = ['amplitude', 'rate', 'offset'].map((name, i) => {
    const parameter: FitParameter = { name, unit: '1', start: [1.2, 1.1, 0.2][i] };
    return { ...parameter, ...change(parameter, i) };
  });
  return {
    model: decay(x),
    parameters,
    y: x.map((value) => truth[0] * Math.exp(-truth[1] * value) + truth[2] + 0.02 * normal()),
  };
}

export const values = (result: FitResult): number[] => result.parameters.map((parameter) => parameter.value);
export const errors = (result: FitResult): number[] =>
  result.parameters.map((parameter) => parameter.standardError ?? Number.NaN);
