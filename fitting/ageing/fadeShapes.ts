/**
 * One shape of a fade or rise curve over u = x / (last x): y = Σ βⱼ·columnⱼ(u). The first column is 1; what is nonlinear is
 * fixed in the shape, so that a fit is a linear one.
 */
export interface FadeShape {
  readonly family: FadeFamily;
  /** Share of belief before the data are seen; all shapes together: 1. */
  readonly prior: number;
  readonly size: number;
  /**
   * Sign each coefficient must have, towards the limit (1) or away from it (−1), to be what the family represents; 0: either.
   */
  readonly signs: readonly number[];
  /** Writes the columns at u into `row`. */
  fill(u: number, row: Float64Array): void;
}

/** What a family of shapes represents. */
export type FadeFamily =
  /** uᶻ: diffusion-limited growth (z = ½), a straight line (1), and what lies beside them. */
  | 'power'
  /** A straight line and an exponential that grows. */
  | 'accelerating'
  /** An early gain that dies away, and an exponential that grows. */
  | 'gain-then-accelerating'
  /** A straight line and an early loss that dies away. */
  | 'settling'
  /** A loss that dies away but for a small part of its first slope: the fade slows down. */
  | 'saturating'
  /** Two straight lines with a smooth bend. */
  | 'bend'
  /** The square root of diffusion-limited growth and a straight line. */
  | 'root-and-line'
  /** An early loss that dies away, and two straight lines with a bend. */
  | 'settling-bend';

/** Belief in each family before the data are seen. */
const BELIEF: Readonly<Record<FadeFamily, number>> = {
  power: 0.19,
  accelerating: 0.2,
  'gain-then-accelerating': 0.28,
  settling: 0.09,
  saturating: 0.05,
  bend: 0.1,
  'settling-bend': 0.06,
  'root-and-line': 0.03,
};
/** Shares of its first slope that a fade which slows down keeps. Ours. */
const LASTING_SLOPES = [0, 0.03, 0.1];
/** Standard deviation of ln z: most laws of fade in the literature have exponents between ½ and 2. */
const LOG_EXPONENT_SPREAD = 0.3;

const steps = (from: number, to: number, count: number): number[] =>
  Array.from({ length: count }, (_, i) => from + ((to - from) * i) / (count - 1));
const logSteps = (from: number, to: number, count: number): number[] =>
  steps(Math.log(from), Math.log(to), count).map(Math.exp);

/** w ln(1 + exp((u − k)/w)), shifted to 0 at u = 0: 0 before the bend, a line of slope 1 after it. */
function softRamp(u: number, k: number, w: number): number {
  return w * (softPlus((u - k) / w) - softPlus(-k / w));
}

function softPlus(s: number): number {
  return s > 30 ? s : Math.log1p(Math.exp(s));
}

type Fill = FadeShape['fill'];

/** Shapes of one family, its belief spread over them by `shares`, or evenly. */
function family(
  name: FadeFamily,
  signs: readonly number[],
  fills: readonly Fill[],
  shares: readonly number[] = fills.map(() => 1),
): FadeShape[] {
  const total = shares.reduce((sum, share) => sum + share, 0);
  return fills.map((fill, i) => ({
    family: name,
    prior: (BELIEF[name] * shares[i]) / total,
    size: signs.length,
    signs,
    fill,
  }));
}

function powers(): FadeShape[] {
  // From 0.35 to 5, the straight line among them.
  const exponents = Array.from({ length: 36 }, (_, i) => Math.exp(0.076 * (i - 14)));
  const fills = exponents.map(
    (z): Fill =>
      (u, row) => {
        row[0] = 1;
        row[1] = u ** z;
      },
  );
  const shares = exponents.map((z) => Math.exp(-0.5 * (Math.log(z) / LOG_EXPONENT_SPREAD) ** 2));
  return family('power', [0, 1], fills, shares);
}

/** exp(u/t), scaled to 1 at the end of the data. */
const growth = (u: number, t: number): number => Math.exp((u - 1) / t) - Math.exp(-1 / t);

function accelerating(): FadeShape[] {
  const fills = logSteps(0.05, 1.5, 28).map(
    (t): Fill =>
      (u, row) => {
        row[0] = 1;
        row[1] = u;
        row[2] = growth(u, t);
      },
  );
  return family('accelerating', [0, 0, 1], fills);
}

function gainThenAccelerating(): FadeShape[] {
  const fills = [0.06, 0.12, 0.25].flatMap((early) =>
    logSteps(0.08, 1.5, 14).map(
      (t): Fill =>
        (u, row) => {
          row[0] = 1;
          row[1] = -Math.expm1(-u / early);
          row[2] = growth(u, t);
        },
    ),
  );
  return family('gain-then-accelerating', [0, -1, 1], fills);
}

function settling(): FadeShape[] {
  const fills = logSteps(0.03, 1, 12).map(
    (t): Fill =>
      (u, row) => {
        row[0] = 1;
        row[1] = u;
        row[2] = -Math.expm1(-u / t);
      },
  );
  return family('settling', [0, 1, 1], fills);
}

function saturating(): FadeShape[] {
  const fills = LASTING_SLOPES.flatMap((lasting) =>
    logSteps(0.3, 3, 10).map(
      (t): Fill =>
        (u, row) => {
          row[0] = 1;
          row[1] = -Math.expm1(-u / t) + (lasting * u) / t;
        },
    ),
  );
  return family('saturating', [0, 1], fills);
}

function rootAndLine(): FadeShape[] {
  const fill: Fill = (u, row) => {
    row[0] = 1;
    row[1] = Math.sqrt(u);
    row[2] = u;
  };
  return family('root-and-line', [0, 1, 1], [fill]);
}

/**
 * Shares of u that lie beyond a bend: finer towards the end, where a shift of the bend changes the slope after it by the more. Each stands
 * for a stretch in proportion to itself.
 */
const afterBend = (most: number, count: number): number[] => logSteps(most, 0.03, count);

function bends(): FadeShape[] {
  const left = [0.01, 0.03, 0.08].flatMap((w) => afterBend(0.9, 62).map((after) => ({ w, after })));
  const fills = left.map(
    ({ w, after }): Fill =>
      (u, row) => {
        row[0] = 1;
        row[1] = u;
        row[2] = softRamp(u, 1 - after, w);
      },
  );
  return family(
    'bend',
    [0, 0, 0],
    fills,
    left.map(({ after }) => after),
  );
}

function settlingBends(): FadeShape[] {
  const left = [0.05, 0.12, 0.25].flatMap((t) => afterBend(0.7, 40).map((after) => ({ t, after })));
  const fills = left.map(
    ({ t, after }): Fill =>
      (u, row) => {
        row[0] = 1;
        row[1] = u;
        row[2] = -Math.expm1(-u / t);
        row[3] = softRamp(u, 1 - after, 0.03);
      },
  );
  return family(
    'settling-bend',
    [0, 1, 1, 0],
    fills,
    left.map(({ after }) => after),
  );
}

/**
 * Generic shapes of fade, none of them taken from a data set: the square root of diffusion-limited film growth, straight
 * lines, an early loss or gain that dies away, and the knee as an exponential or as a bend. After the review of P. M. Attia
 * et al., "Knees in lithium-ion battery aging trajectories", J. Electrochem. Soc. 169 (2022) 060517. The beliefs are ours.
 */
export const FADE_SHAPES: readonly FadeShape[] = [
  ...powers(),
  ...accelerating(),
  ...gainThenAccelerating(),
  ...settling(),
  ...saturating(),
  ...rootAndLine(),
  ...bends(),
  ...settlingBends(),
];
