/** Rates of the table of directions: every factor of 1.3 from the least to the most that means can show. */
const TABLE_RATES = Array.from({ length: 20 }, (_, i) => Math.log(0.35 * 1.3 ** i));

/** For a number of equally spaced means: the unit vectors of φ freed of constant and slope, decays first, then growths. */
const directions = new Map<number, Float64Array[]>();

function directionsOf(n: number): Float64Array[] {
  const known = directions.get(n);
  if (known !== undefined) return known;
  const made = [1, -1].flatMap((sense) =>
    TABLE_RATES.map((logRate) => {
      const k = Math.exp(logRate);
      const phi = Float64Array.from({ length: n }, (_, i) => {
        const u = i / (n - 1);
        return Math.exp(-k * (sense > 0 ? u : 1 - u));
      });
      return unitWithoutLine(phi);
    }),
  );
  directions.set(n, made);
  return made;
}

/** Takes constant and slope off values at equally spaced positions and scales to unit length. */
function unitWithoutLine(values: Float64Array): Float64Array {
  const n = values.length;
  const middle = (n - 1) / 2;
  const mean = values.reduce((sum, value) => sum + value, 0) / n;
  const sxx = (n * (n * n - 1)) / 12;
  const slope = values.reduce((sum, value, i) => sum + value * (i - middle), 0) / sxx;
  const rest = values.map((value, i) => value - mean - slope * (i - middle));
  const length = Math.sqrt(rest.reduce((sum, value) => sum + value * value, 0));
  return rest.map((value) => value / length);
}

/**
 * The rate and sense that take most off the sum of squares of equally spaced means: with a table of unit directions that is the largest
 * product with the data, and a parabola through its neighbours gives the place between two rates.
 */
export function tabulatedStart(y: Float64Array): { theta: number; model: number } {
  const table = directionsOf(y.length);
  const gains = new Float64Array(table.length);
  let best = 0;
  for (let t = 0; t < table.length; t++) {
    const direction = table[t];
    let product = 0;
    for (let i = 0; i < y.length; i++) product += direction[i] * (y[i] - y[0]);
    gains[t] = product * product;
    if (gains[t] > gains[best]) best = t;
  }
  const rates = TABLE_RATES.length;
  const r = best % rates;
  let theta = TABLE_RATES[r];
  if (r > 0 && r < rates - 1) {
    const curvature = gains[best - 1] - 2 * gains[best] + gains[best + 1];
    const shift = curvature < 0 ? (gains[best - 1] - gains[best + 1]) / (2 * curvature) : 0;
    theta += shift * (TABLE_RATES[1] - TABLE_RATES[0]);
  }
  return { theta, model: best < rates ? 0 : 1 };
}
