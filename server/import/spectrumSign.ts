import type { SpectrumColumn, SpectrumOptions, SpectrumPlan } from './spectrumColumns.ts';

/** Below this a cell is capacitive: inductance of leads and jelly roll shows above some 100 Hz (common practice). */
const CAPACITIVE_BELOW_HZ = 100;

/** The column that carries the sign: the imaginary part, or the phase. */
export function imaginaryColumn(plan: SpectrumPlan): SpectrumColumn {
  return plan.columns.get(plan.form === 'cartesian' ? 'imaginary' : 'phase') as SpectrumColumn;
}

/**
 * Whether the file holds −Im Z (or −phase), so that it must be turned round: as stated, else by the column's name, else
 * by the sign that most points below 100 Hz have. The last is reported in a warning, and so is a name that the points
 * contradict.
 *
 * @param points frequency, and imaginary part or phase as the file has it
 */
export function turnsSign(
  plan: SpectrumPlan,
  points: readonly { readonly frequencyHz: number; readonly second: number }[],
  stated: SpectrumOptions['imaginarySign'],
  warnings: string[],
): boolean {
  if (stated !== undefined) return stated === 'positive-capacitive';
  const { mapping, namedNegative } = imaginaryColumn(plan);
  const low = points.filter(({ frequencyHz, second }) => frequencyHz < CAPACITIVE_BELOW_HZ && second !== 0);
  const positive = low.filter(({ second }) => second > 0).length;
  const negative = low.length - positive;
  const state = 'to state it: --imaginary-sign negative-capacitive or positive-capacitive';
  const what = plan.form === 'cartesian' ? 'imaginary part' : 'phase';
  if (namedNegative) {
    if (negative > positive) {
      warnings.push(
        `${mapping.role}: "${mapping.source}" was turned round for its name, though ${negative} of ${low.length} points ` +
          `below 100 Hz have the sign of a capacitive ${what} already; ${state}`,
      );
    }
    return true;
  }
  if (positive > negative) {
    warnings.push(
      `${mapping.role}: ${positive} of ${low.length} points of "${mapping.source}" below 100 Hz are positive, where a ` +
        `cell is capacitive: the column was taken as the negative of the ${what} and turned round; ${state}`,
    );
    return true;
  }
  if (low.length === 0) {
    warnings.push(
      `${mapping.role}: no point below 100 Hz tells the sign of "${mapping.source}"; negative was taken as capacitive; ${state}`,
    );
  }
  return false;
}
