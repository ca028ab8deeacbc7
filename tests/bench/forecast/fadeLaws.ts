/** What the user sees of a fade: it goes on as it began, it turns steep, or it has two stages of another kind. */
export type FadeKind = 'smooth' | 'knee' | 'two-stage';
/** The laws of the first fleet are among the shapes of the forecast, nearly all of the second's are not. */
export type Fleet = 'first' | 'second';

/** One law with its parameters drawn. */
export interface DrawnLaw {
  /** Loss over u = age / life, rising, up to a factor and a constant. */
  readonly loss: (u: number) => number;
  /** Share of life at which the fade changes; null where it does not. */
  readonly changesAt: number | null;
}

/** A law of fade with random parameters. */
export interface FadeLaw {
  readonly fleet: Fleet;
  readonly kind: FadeKind;
  readonly name: string;
  draw(between: (low: number, high: number) => number): DrawnLaw;
}

const ramp = (u: number, k: number, w: number): number =>
  w * Math.log1p(Math.exp(Math.min((u - k) / w, 700)));
const sharpRamp = (u: number, k: number): number => Math.max(u - k, 0);

const law = (
  fleet: Fleet,
  kind: FadeKind,
  name: string,
  draw: (between: (low: number, high: number) => number) => [(u: number) => number, number | null],
): FadeLaw => ({
  fleet,
  kind,
  name,
  draw: (between) => {
    const [loss, changesAt] = draw(between);
    return { loss, changesAt };
  },
});

/**
 * Laws of fade as they stand in the literature: diffusion-limited growth (square root), linear and power laws, stretched exponential,
 * the sum of two exponentials, two lines with a sharp or smooth bend, a loss that runs away. Ranges of the parameters are ours.
 */
export const FADE_LAWS: readonly FadeLaw[] = [
  law('first', 'smooth', 'power', (between) => {
    const z = between(0.5, 1.4);
    return [(u) => u ** z, null];
  }),
  law('first', 'knee', 'two slopes', (between) => {
    const [k, r, w] = [between(0.4, 0.9), 10 ** between(0.4, 1.1), between(0.01, 0.08)];
    return [(u) => u + (r - 1) * ramp(u, k, w), k];
  }),
  law('first', 'knee', 'line and exponential', (between) => {
    const [k, w] = [between(0.4, 0.9), between(0.06, 0.2)];
    return [(u) => u + 2 * w * Math.exp((u - k) / w), k];
  }),
  law('first', 'two-stage', 'early loss, then a line', (between) => {
    const [t, b] = [between(0.05, 0.25), between(0.2, 1.5)];
    return [(u) => u - b * Math.expm1(-u / t), t];
  }),
  law('first', 'two-stage', 'slow, then fast', (between) => {
    const [k, r] = [between(0.2, 0.7), between(1.5, 4)];
    return [(u) => u + (r - 1) * sharpRamp(u, k), k];
  }),
  law('first', 'two-stage', 'early loss, line, knee', (between) => {
    const [t, b] = [between(0.05, 0.25), between(0.2, 1.5)];
    const [k, r] = [between(0.5, 0.9), 10 ** between(0.4, 1)];
    return [(u) => u - b * Math.expm1(-u / t) + (r - 1) * ramp(u, k, 0.03), k];
  }),
  law('second', 'smooth', 'square root and line', (between) => {
    const b = between(0, 2);
    return [(u) => Math.sqrt(u) + b * u, null];
  }),
  law('second', 'smooth', 'stretched exponential', (between) => {
    const [c, z] = [between(0.1, 0.6), between(0.7, 1.2)];
    return [(u) => -Math.expm1(-c * u ** z), null];
  }),
  law('second', 'smooth', 'line and square', (between) => {
    const a = between(-0.2, 1);
    return [(u) => u + a * u * u, null];
  }),
  law('second', 'knee', 'sum of two exponentials', (between) => {
    const [a, b, c] = [between(-0.5, 0.5), between(6, 20), between(0.2, 0.8)];
    const slow = (u: number): number => (Math.abs(a) < 1e-3 ? u : Math.expm1(a * u) / Math.expm1(a));
    return [(u) => (1 - c) * slow(u) + (c * Math.expm1(b * u)) / Math.expm1(b), 1 - 2 / b];
  }),
  law('second', 'knee', 'two lines, sharp', (between) => {
    const [k, r] = [between(0.35, 0.9), between(3, 10)];
    return [(u) => u + (r - 1) * sharpRamp(u, k), k];
  }),
  law('second', 'knee', 'square root, then a steep line', (between) => {
    const [k, r] = [between(0.4, 0.9), between(2, 8)];
    return [(u) => Math.sqrt(u) + r * ramp(u, k, 0.02), k];
  }),
  law('second', 'two-stage', 'fast line, then a slower one', (between) => {
    const [k, r] = [between(0.1, 0.4), between(0.3, 0.7)];
    return [(u) => u + (r - 1) * ramp(u, k, 0.02), k];
  }),
  law('second', 'two-stage', 'square root, then a line', (between) => {
    const [k, r] = [between(0.2, 0.6), between(0.8, 2)];
    const root = Math.sqrt(k);
    return [(u) => (u < k ? Math.sqrt(u) : root + (r * (u - k)) / (2 * root)), k];
  }),
  law('second', 'two-stage', 'line, then twice as steep', (between) => {
    const [k, r, w] = [between(0.25, 0.75), between(1.4, 3), between(0.005, 0.1)];
    return [(u) => u + (r - 1) * ramp(u, k, w), k];
  }),
];
