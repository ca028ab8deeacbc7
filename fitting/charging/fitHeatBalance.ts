/** A record of a charge or a discharge with the surface temperature, and the heat made in the cell at each sample. */
export interface HeatRecord {
  readonly timeS: Float64Array;
  readonly temperatureC: Float64Array;
  /** For example from `heatGenerationW` with the measured voltage and the OCV at the counted SOC. */
  readonly heatW: Float64Array;
  readonly ambientC: number;
}

export interface HeatBalanceFit {
  readonly heatCapacityJPerK: number | null;
  readonly heatTransferWPerK: number | null;
  readonly heatCapacityStandardError: number | null;
  readonly heatTransferStandardError: number | null;
  /** Standard deviation of measured against modelled temperature change, K. */
  readonly residualSdK: number | null;
  /** Why there are no values. */
  readonly reason: 'too-little-warming' | 'not-separable' | 'not-physical' | null;
}

/** The temperature must move by this much, or noise decides. */
const LEAST_WARMING_K = 0.5;
const LEAST_SAMPLES = 10;

/**
 * Heat capacity and heat transfer of a cell from one record, by the balance in its integral form, which needs no
 * derivative of a noisy temperature: ∫ q dt = C (T − T_0) + K ∫ (T − T_ambient) dt, linear in C, K and the
 * start, solved by least squares over all samples (trapezoids in time). The standard errors take the residuals as independent; those of an
 * integral are not, so they are a lower bound.
 *
 * @throws RangeError for columns of different lengths, fewer than ten samples, values that are not finite, or time that
 * does not ascend.
 */
export function fitHeatBalance(record: HeatRecord): HeatBalanceFit {
  checkRecord(record);
  const { timeS, temperatureC, heatW, ambientC } = record;
  const n = timeS.length;
  // Two passes: means first, because an unknown start temperature (one noisy sample) is a constant in the balance.
  const rises = new Float64Array(n);
  const excesses = new Float64Array(n);
  const heats = new Float64Array(n);
  for (let k = 1; k < n; k++) {
    const dt = timeS[k] - timeS[k - 1];
    rises[k] = temperatureC[k] - temperatureC[0];
    excesses[k] = excesses[k - 1] + dt * ((temperatureC[k] + temperatureC[k - 1]) / 2 - ambientC);
    heats[k] = heats[k - 1] + (dt * (heatW[k] + heatW[k - 1])) / 2;
  }
  if (span(rises) < LEAST_WARMING_K) return without('too-little-warming');
  const [cc, ck, kk] = [product(rises, rises), product(rises, excesses), product(excesses, excesses)];
  const [cy, ky, yy] = [product(rises, heats), product(excesses, heats), product(heats, heats)];
  const determinant = cc * kk - ck * ck;
  // The sine of the angle between the two columns, squared: near 0 they tell the same.
  if (!(determinant > 1e-6 * cc * kk)) return without('not-separable');
  const heatCapacityJPerK = (kk * cy - ck * ky) / determinant;
  const heatTransferWPerK = (cc * ky - ck * cy) / determinant;
  if (!(heatCapacityJPerK > 0 && heatTransferWPerK >= 0)) return without('not-physical');
  const residual = Math.max(yy - heatCapacityJPerK * cy - heatTransferWPerK * ky, 0);
  const variance = residual / (n - 3);
  return {
    heatCapacityJPerK,
    heatTransferWPerK,
    heatCapacityStandardError: Math.sqrt((variance * kk) / determinant),
    heatTransferStandardError: Math.sqrt((variance * cc) / determinant),
    residualSdK: Math.sqrt(variance) / heatCapacityJPerK,
    reason: null,
  };
}

function span(values: Float64Array): number {
  return (
    values.reduce((most, value) => Math.max(most, value)) -
    values.reduce((least, value) => Math.min(least, value))
  );
}

/** Sum of the products of two columns about their means. */
function product(a: Float64Array, b: Float64Array): number {
  const n = a.length;
  const [meanA, meanB] = [a, b].map((column) => column.reduce((sum, value) => sum + value, 0) / n);
  let sum = 0;
  for (let k = 0; k < n; k++) sum += (a[k] - meanA) * (b[k] - meanB);
  return sum;
}

function without(reason: NonNullable<HeatBalanceFit['reason']>): HeatBalanceFit {
  return {
    heatCapacityJPerK: null,
    heatTransferWPerK: null,
    heatCapacityStandardError: null,
    heatTransferStandardError: null,
    residualSdK: null,
    reason,
  };
}

function checkRecord({ timeS, temperatureC, heatW, ambientC }: HeatRecord): void {
  const n = timeS.length;
  if (temperatureC.length !== n || heatW.length !== n)
    throw new RangeError(
      `timeS has ${n} samples, temperatureC ${temperatureC.length}, heatW ${heatW.length}`,
    );
  if (n < LEAST_SAMPLES) throw new RangeError(`timeS has ${n} samples; at least ${LEAST_SAMPLES} are needed`);
  if (!Number.isFinite(ambientC)) throw new RangeError(`ambientC is ${ambientC}; it must be a finite number`);
  for (let k = 0; k < n; k++) {
    if (![timeS[k], temperatureC[k], heatW[k]].every(Number.isFinite))
      throw new RangeError(`sample ${k} holds a value that is not finite`);
    if (k > 0 && timeS[k] <= timeS[k - 1])
      throw new RangeError(`timeS[${k}] is ${timeS[k]}, not above ${timeS[k - 1]} before it`);
  }
}
