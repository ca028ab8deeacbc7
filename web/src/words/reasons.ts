/** The sentence for each reason code: why a number, a pair or a forecast is missing or marked. */
const sentences: Readonly<Record<string, string>> = {
  'pulse-too-short': 'The pulse is shorter than this duration.',
  'sampling-too-coarse': 'No sample lies close enough to this duration.',
  'current-not-settled': 'The current was still rising at this time.',
  'no-step-in-current': 'The current does not step here.',
  'did-not-reach-cutoff': 'The discharge ended before the cut-off voltage.',
  'no-cutoff-stated': 'No cut-off voltage is stated.',
  'too-few-samples': 'There are too few samples.',
  'no-current': 'No current flows in this record.',
  'gap-in-record': 'The record has a gap here.',
  zero: 'The value is zero.',
  'above-plausible-limit': 'The value is above 1.2 × the rated capacity: kept as measured, left out of fits.',
  'no-rated-capacity': 'The rated capacity is not known.',
  'no-matching-charge': 'No charge belongs to this discharge.',
  'no-matching-discharge': 'No discharge belongs to this charge.',
  'no-charge-to-full': 'The charge did not go to full.',
  'not-a-charge': 'This is not a charge.',
  'held-back': 'Held back in this run.',
  'warning-sign': 'Carries a warning sign; such a cell is never offered for pairing.',
  'missing-value': 'A value of a chosen feature is missing.',
  'outside-cell-limit': 'Outside the limits for a single cell.',
  outlier: 'Too far from the median of the lot.',
  'no-acceptable-partner': 'No other cell lies within the pair limits.',
  'acceptable-partners-used': 'Every acceptable partner is used better elsewhere.',
  'odd-count': 'The count of cells is odd: one has to be left over.',
  'outside-full-groups': 'Left over when full groups were formed.',
  'too-few-points': 'There are too few points.',
  'not-converged': 'The fit did not settle.',
  'not-identifiable': 'The data cannot tell this parameter.',
  'at-bound': 'The parameter lies at its bound.',
  'aicc-undefined': 'There are too few points for AICc.',
  'no-knee': 'No knee is visible.',
  'no-curvature': 'The series is straight.',
  'wrong-direction': 'The series does not move towards this limit.',
  'no-resistance': 'No resistance is known over life.',
  'no-capacity': 'No capacity is known over life.',
  'already-crossed': 'The limit is already crossed.',
  'never-crosses': 'The model never reaches this limit.',
  'beyond-stated-ratio': 'Refused: too far beyond what was observed.',
  'interval-open': 'The interval has no upper end.',
  'no-initial-value': 'The first value is not known.',
  'carried-over': 'The cell carries on from another campaign: its earlier life is not in the data.',
  spike: 'A single-cycle spike.',
  recovery: 'Recovery after a rest.',
  restart: 'The bench was restarted.',
  'not-evaluated': 'Not evaluated yet.',
  'too-few-cells': 'There are too few cells.',
  'no-stress-columns': 'The condition of the cycling is not in the data.',
  'no-variation': 'All cells were cycled alike.',
  'left-out-variance-low': 'Cells left out are predicted too badly.',
  'outside-temperature-window': 'Outside the temperature window: do not charge.',
  'below-minimum-temperature': 'Colder than the cell may be charged.',
  'above-maximum-temperature': 'Hotter than the cell may be charged.',
  'limits-broken-at-lowest-rate': 'Even the lowest rate breaks a limit.',
};

/** The sentence for a code; a code without one is shown as it is, in plain words. */
export function reasonSentence(code: string | null | undefined): string {
  if (code === null || code === undefined || code === '') return '';
  return sentences[code] ?? `${plainCode(code)}.`;
}

/** `stage-current` → `stage current`. */
export function plainCode(code: string): string {
  return code.replaceAll('-', ' ').replaceAll('.', ' ');
}
