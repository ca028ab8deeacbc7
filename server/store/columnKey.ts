import type { QuantityName } from '../contract/measurements.ts';

/**
 * A comparable column of a lot: one quantity at one condition. SOC is rounded to 5 %, so that cells whose tests hit
 * 49 and 51 % stand in one column.
 */
export interface ColumnKey {
  readonly quantity: QuantityName;
  readonly durationS: number | null;
  readonly direction: 'charge' | 'discharge' | null;
  /** In twentieths, 0 to 20. */
  readonly socTwentieths: number | null;
  /** Temperature rounded to 5 °C, where a lot was measured at several. */
  readonly temperatureC: number | null;
}

/** The key as text, e.g. `resistance/10s/discharge/soc50/25C`. */
export function formatColumnKey(key: ColumnKey): string {
  const parts: string[] = [key.quantity];
  if (key.durationS !== null) parts.push(`${key.durationS}s`);
  if (key.direction !== null) parts.push(key.direction);
  if (key.socTwentieths !== null) parts.push(`soc${key.socTwentieths * 5}`);
  if (key.temperatureC !== null) parts.push(`${key.temperatureC}C`);
  return parts.join('/');
}

/** Reads what {@link formatColumnKey} wrote; null for a text that is not a key. */
export function parseColumnKey(text: string, quantities: readonly string[]): ColumnKey | null {
  const [quantity, ...rest] = text.split('/');
  if (quantity === undefined || !quantities.includes(quantity)) return null;
  let durationS: number | null = null;
  let direction: ColumnKey['direction'] = null;
  let socTwentieths: number | null = null;
  let temperatureC: number | null = null;
  for (const part of rest) {
    const duration = /^([0-9.e+-]+)s$/.exec(part);
    const soc = /^soc(\d+)$/.exec(part);
    const temperature = /^(-?\d+)C$/.exec(part);
    if (part === 'charge' || part === 'discharge') direction = part;
    else if (duration) durationS = Number(duration[1]);
    else if (soc) socTwentieths = Math.round(Number(soc[1]) / 5);
    else if (temperature) temperatureC = Number(temperature[1]);
    else return null;
  }
  if (durationS !== null && !Number.isFinite(durationS)) return null;
  return { quantity: quantity as QuantityName, durationS, direction, socTwentieths, temperatureC };
}
