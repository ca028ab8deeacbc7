/** What a long steady load had built up, as a rest after it shows. */
export interface LoadPolarisation {
  /** Voltage that the rest has given back, over the load's current. */
  readonly resistanceOhm: number;
  readonly standardUncertaintyOhm: number;
  /** Time constant of the slow part of the relaxation; null where the rest shows none. */
  readonly tauS: number | null;
}

/** Before this the relaxation is that of the quick branches, which pulses show. */
const QUICK_S = 30;
const FEWEST_ROWS = 6;

/**
 * The whole polarisation of a load that ended in a rest: no charge moves in the rest, so that its last voltage and the last
 * under load differ by polarisation alone, whatever the open-circuit curve is. The slow part is a exp(−t/τ) towards its end,
 * fitted to the rows later than {@link QUICK_S} (a and the end by least squares for each τ, τ by golden section of its
 * logarithm). A part that is slower than the rest is not seen in either.
 *
 * @param timeS rows of the rest, from the end of the load
 * @param loadVoltageV last voltage under load
 * @param currentA current of the load, positive on charge
 * @param errorV standard uncertainty of one voltage
 */
export function loadPolarisation(
  timeS: Float64Array,
  voltageV: Float64Array,
  loadVoltageV: number,
  currentA: number,
  errorV: number,
): LoadPolarisation | null {
  const n = timeS.length;
  if (n < FEWEST_ROWS || currentA === 0) return null;
  const resistanceOhm = (loadVoltageV - voltageV[n - 1]) / currentA;
  if (!(resistanceOhm > 0)) return null;
  const standardUncertaintyOhm = (Math.SQRT2 * errorV) / Math.abs(currentA);
  return { resistanceOhm, standardUncertaintyOhm, tauS: slowTau(timeS, voltageV, errorV) };
}

function slowTau(timeS: Float64Array, voltageV: Float64Array, errorV: number): number | null {
  const first = timeS.findIndex((time) => time >= QUICK_S);
  if (first < 0 || timeS.length - first < FEWEST_ROWS) return null;
  const t = timeS.subarray(first);
  const v = voltageV.subarray(first);
  const last = t[t.length - 1];
  const at = (logTau: number) => decayFit(t, v, Math.exp(logTau));
  const golden = (Math.sqrt(5) - 1) / 2;
  let [low, high] = [Math.log(QUICK_S), Math.log(last)];
  for (let pass = 0; pass < 60; pass++) {
    const [a, b] = [high - golden * (high - low), low + golden * (high - low)];
    if (at(a).squares <= at(b).squares) high = b;
    else low = a;
  }
  const tauS = Math.exp((low + high) / 2);
  const { amplitude } = decayFit(t, v, tauS);
  // Where the rest has not bent, or moves by no more than its error, there is no time constant in it.
  return tauS < 0.9 * last && Math.abs(amplitude) > 3 * errorV ? tauS : null;
}

function decayFit(t: Float64Array, v: Float64Array, tauS: number): { squares: number; amplitude: number } {
  const n = t.length;
  let [sumX, sumY] = [0, 0];
  const x = t.map((time) => Math.exp(-time / tauS));
  for (let i = 0; i < n; i++) {
    sumX += x[i];
    sumY += v[i];
  }
  let [xx, xy, yy] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    const [dx, dy] = [x[i] - sumX / n, v[i] - sumY / n];
    xx += dx * dx;
    xy += dx * dy;
    yy += dy * dy;
  }
  const amplitude = xx > 0 ? xy / xx : 0;
  return { squares: yy - amplitude * xy, amplitude };
}
