import { say } from '../words/i18n.ts';
import { decimalMark } from '../words/language.ts';

const minus = '−';

/** A number with `digits` significant digits and a true minus sign; no exponent between 1e-4 and 1e7. */
export function significant(value: number, digits = 4): string {
  if (!Number.isFinite(value)) throw new RangeError(say('general.aNumberToShowMustBe', { value }));
  if (value === 0) return '0';
  const magnitude = Math.abs(value);
  const text =
    magnitude >= 1e7 || magnitude < 1e-4
      ? value.toExponential(digits - 1)
      : trimmed(value, Math.max(0, digits - 1 - Math.floor(Math.log10(magnitude))));
  return written(text);
}

/** A number of the machine's writing in the reader's: a true minus sign and the language's decimal mark. */
export function written(text: string): string {
  return text.replace('-', minus).replace('.', decimalMark);
}

/** A number with a fixed count of decimals and a true minus sign. */
export function fixed(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  return written(Number(text) === 0 ? text.replace('-', '') : text);
}

function trimmed(value: number, decimals: number): string {
  return value.toFixed(Math.min(decimals, 12));
}

/**
 * `value ± uncertainty`: the uncertainty with two significant digits and the value to the same decimal place, as the
 * Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008, 7.2.6) advises.
 */
export function withUncertainty(value: number, uncertainty: number): string {
  if (!(uncertainty > 0)) return significant(value);
  const decimals = Math.max(0, 1 - Math.floor(Math.log10(uncertainty)));
  if (decimals > 9) return `${significant(value, 6)} ± ${significant(uncertainty, 2)}`;
  return `${fixed(value, decimals)} ± ${fixed(uncertainty, decimals)}`;
}

/** A whole number with thin spaces between thousands. */
export function whole(value: number): string {
  return Math.round(value)
    .toString()
    .replace(/\B(?=(\d{3})+$)/g, ' ')
    .replace('-', minus);
}

/** A fraction 0…1 as percent. */
export function percent(fraction: number, decimals = 1): string {
  return `${fixed(fraction * 100, decimals)} %`;
}

/** A probability in whole percent; one that is not certain is never shown as 0 or 100 %. */
export function chance(probability: number): string {
  if (probability > 0.99 && probability < 1) return `> ${percent(0.99, 0)}`;
  if (probability < 0.01 && probability > 0) return `< ${percent(0.01, 0)}`;
  return percent(probability, 0);
}
