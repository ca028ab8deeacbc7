/**
 * A value with its standard uncertainty, in the digits it deserves: the uncertainty with two significant digits, the
 * value to the same place (JCGM 100:2008, 7.2.6). Without an uncertainty four significant digits and a question mark.
 *
 * @param factor what value and uncertainty are multiplied by first, e.g. 1000 for mΩ of Ω
 */
export function plusMinus(value: number, uncertainty: number | null, unit: string, factor = 1): string {
  const scaled = value * factor;
  if (uncertainty === null || !Number.isFinite(uncertainty)) return `${scaled.toPrecision(4)} ± ? ${unit}`;
  const error = Math.abs(uncertainty * factor);
  if (error === 0) return `${scaled.toPrecision(6)} ± 0 ${unit}`;
  const places = Math.min(12, Math.max(0, 1 - Math.floor(Math.log10(Number(error.toPrecision(2))))));
  return `${scaled.toFixed(places)} ± ${error.toFixed(places)} ${unit}`;
}
