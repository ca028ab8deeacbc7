import type { Picture } from './picture.ts';

export interface NamedValue {
  readonly name: string;
  readonly value: number;
  readonly outlier?: boolean;
}

/**
 * Quantile of the standard normal distribution by Acklam's rational approximation (relative error below 1.2e-9, as
 * remembered), enough to place a point on a plot; numbers that people decide by come from the server.
 */
export function normalQuantile(probability: number): number {
  if (!(probability > 0 && probability < 1)) {
    throw new RangeError(`A probability must lie strictly between 0 and 1, not ${probability}.`);
  }
  if (probability > 0.5) return -normalQuantile(1 - probability);
  if (probability < 0.02425) {
    const q = Math.sqrt(-2 * Math.log(probability));
    return polynomial(tailNumerator, q) / (q * polynomial(tailDenominator, q) + 1);
  }
  const q = probability - 0.5;
  const r = q * q;
  return (q * polynomial(middleNumerator, r)) / (r * polynomial(middleDenominator, r) + 1);
}

const middleNumerator = [
  -3.969683028665376e1, 2.209460984245205e2, -2.759285104469687e2, 1.38357751867269e2, -3.066479806614716e1,
  2.506628277459239,
];
const middleDenominator = [
  -5.447609879822406e1, 1.615858368580409e2, -1.556989798598866e2, 6.680131188771972e1, -1.328068155288572e1,
];
const tailNumerator = [
  -7.784894002430293e-3, -3.223964580411365e-1, -2.400758277161838, -2.549732539343734, 4.374664141464968,
  2.938163982698783,
];
const tailDenominator = [7.784695709041462e-3, 3.224671290700398e-1, 2.445134137142996, 3.754408661907416];

function polynomial(coefficients: readonly number[], x: number): number {
  return coefficients.reduce((sum, c) => sum * x + c, 0);
}

/**
 * Normal-probability plot: sorted values against normal scores at the plotting positions (i − 0.375) / (n + 0.25) of
 * Blom (1958), with the line through the quartiles. Points on a line: the lot is normally distributed.
 */
export function normalProbabilityPicture(
  title: string,
  label: string,
  unit: string,
  values: readonly NamedValue[],
): Picture {
  const sorted = [...values].sort((a, b) => a.value - b.value);
  const scored = sorted.map((v, i) => ({
    x: v.value,
    y: normalQuantile((i + 0.625) / (sorted.length + 0.25)),
    name: v.name,
    outlier: v.outlier === true,
  }));
  const guide = quartileLine(scored);
  return {
    title,
    x: { label, unit },
    // The points fill the sheet: beyond an outlier the line would run on for many standard deviations.
    y: { label: 'Normal score', unit: 'sd', ...scoreRange(scored) },
    series: [
      {
        name: 'Cells',
        points: scored.filter((p) => !p.outlier).map(bare),
        draw: 'points',
        ink: 0,
        shape: 'circle',
      },
      {
        name: 'Outliers',
        points: scored.filter((p) => p.outlier).map(bare),
        draw: 'points',
        ink: 1,
        shape: 'triangle',
      },
      ...(guide === null
        ? []
        : [{ name: 'Through the quartiles', points: guide, draw: 'line', ink: 7, dash: 'dashed' } as const]),
    ],
  };
}

interface Scored {
  readonly x: number;
  readonly y: number;
  readonly name: string;
}

function scoreRange(scored: readonly Scored[]): { min?: number; max?: number } {
  if (scored.length === 0) return {};
  const most = Math.ceil(2 * Math.max(1, -scored[0].y, scored[scored.length - 1].y)) / 2 + 0.5;
  return { min: -most, max: most };
}

function bare({ x, y, name }: Scored): Scored {
  return { x, y, name };
}

function quartileLine(scored: readonly Scored[]): { x: number; y: number }[] | null {
  if (scored.length < 4) return null;
  const first = scored[Math.floor((scored.length - 1) * 0.25)];
  const third = scored[Math.ceil((scored.length - 1) * 0.75)];
  if (third.x === first.x) return null;
  const slope = (third.y - first.y) / (third.x - first.x);
  return [scored[0], scored[scored.length - 1]].map((end) => ({
    x: end.x,
    y: first.y + slope * (end.x - first.x),
  }));
}
