/**
 * Nodes and weights of Gauss–Legendre quadrature on [−1, 1], by Newton's iteration on the Legendre
 * polynomial.
 */
function gaussLegendre(n: number): { nodes: Float64Array; weights: Float64Array } {
  const nodes = new Float64Array(n);
  const weights = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    let x = Math.cos((Math.PI * (i + 0.75)) / (n + 0.5));
    let slope = 1;
    for (let round = 0; round < 100; round++) {
      let before = 1;
      let now = x;
      for (let k = 2; k <= n; k++) [before, now] = [now, ((2 * k - 1) * x * now - (k - 1) * before) / k];
      slope = (n * (x * now - before)) / (x * x - 1);
      const step = now / slope;
      x -= step;
      if (Math.abs(step) < 1e-15) break;
    }
    nodes[i] = x;
    weights[i] = 2 / ((1 - x * x) * slope * slope);
  }
  return { nodes, weights };
}

const RULE = gaussLegendre(20);

/**
 * ∫ f over [from, to] by Gauss–Legendre quadrature of 20 points on `panels` equal panels: for smooth
 * functions with a known range that holds all that matters, as the densities here are.
 */
export function integrate(f: (x: number) => number, from: number, to: number, panels: number): number {
  const half = (to - from) / (2 * panels);
  let sum = 0;
  for (let p = 0; p < panels; p++) {
    const middle = from + (2 * p + 1) * half;
    for (let i = 0; i < RULE.nodes.length; i++) sum += RULE.weights[i] * f(middle + half * RULE.nodes[i]);
  }
  return sum * half;
}

/**
 * Root of a monotonic function in a bracket, by Brent-like bisection with secant steps; ends by width.
 *
 * @throws RangeError where the bracket does not hold a sign change
 */
export function rootIn(f: (x: number) => number, low: number, high: number, tolerance = 1e-13): number {
  let [a, b, fa, fb] = [low, high, f(low), f(high)];
  if (!(fa * fb <= 0)) throw new RangeError(`no sign change between ${low} and ${high}`);
  let last = 0;
  for (let round = 0; round < 200; round++) {
    if (Math.abs(b - a) <= tolerance * Math.max(1, Math.abs(a), Math.abs(b)) || fb === 0) return b;
    let x = b - (fb * (b - a)) / (fb - fa);
    if (!((x - a) * (x - b) < 0) || round % 3 === 2) x = (a + b) / 2;
    const fx = f(x);
    if (fx === 0) return x;
    if (fx * fa > 0) {
      [a, fa] = [x, fx];
      if (last === 1) fb /= 2;
      last = 1;
    } else {
      [b, fb] = [x, fx];
      if (last === -1) fa /= 2;
      last = -1;
    }
  }
  return (a + b) / 2;
}
