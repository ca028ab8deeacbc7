import { z } from 'zod';

/**
 * Why a number, a pair or a forecast is missing or marked, as codes with one sentence each: the one place of these
 * words. Answers hold the codes; pages, commands and exported files take the sentences from here.
 */
export const reasonSentences = {
  'pulse-too-short': 'The pulse is shorter than this duration.',
  'sampling-too-coarse': 'No sample lies close enough to this duration.',
  'current-not-settled': 'The current was still rising at this time.',
  'edge-moment': 'The rows leave open when the current changed, which makes up most of the uncertainty.',
  'ocv-slope':
    'The rest after the pulse is too short to tell a slow branch from the change of the open-circuit voltage with charge.',
  sampling: 'Rows this far apart do not separate R0 from what settles between two of them.',
  'earlier-current': 'Too few rows before the pulse show what earlier currents still do.',
  'large-residual': 'The fit misses the voltage by a twentieth of the pulse or more.',
  'residuals-correlated': 'The fit leaves more than noise: its intervals hold for the fit, not for the cell.',
  'spectrum-inconsistent':
    'The spectrum does not obey the Kramers–Kronig relations: the circuit describes it, not the cell.',
  'other-circuits-fit':
    'Another circuit fits about as well and gives other values: the sweep does not decide between them.',
  'better-fit-refused':
    'A richer circuit fits far better, but the record does not determine it: there is more at work than this circuit holds.',
  'as-many-branches-as-tried': 'It takes as many branches as were tried: more may be there.',
  'no-step-in-current': 'The current does not step here.',
  'not-positive': 'The evaluation gave a value that a resistance cannot have.',
  'not-finite': 'The value is not a finite number.',
  undetermined: 'The data do not determine the value.',
  'did-not-reach-cutoff': 'The discharge ended before the cut-off voltage.',
  'no-cutoff-stated': 'No cut-off voltage is stated.',
  'too-few-samples': 'There are too few samples.',
  'gap-in-record': 'The record has a gap here.',
  zero: 'The value is zero.',
  'still-relaxing': 'The voltage still relaxes: its slope is not the cell’s self-discharge.',
  'room-temperature-assumed':
    'No temperature was recorded that shows how that of the cell moved: the uncertainty allows for the days of a room.',
  'one-direction':
    'Measured in one direction only: how far the open-circuit voltage differs after the other one is not in it.',
  'polarisation-assumed':
    'No rest after the run shows its polarisation: the uncertainty takes a usual one for its temperature.',
  'starts-under-load': 'The record begins under load: what went before is not in it.',
  'ends-under-load':
    'The record ends under load and no cut-off shows that the run was over: what came after is not in it.',
  'voltage-against-current': 'The voltage moves against the current: its sign is wrong or missing.',
  'above-plausible-limit': 'The value is above 1.2 × the rated capacity: kept as measured, left out of fits.',
  'no-rated-capacity': 'The rated capacity is not known.',
  'no-matching-charge': 'No charge belongs to this discharge.',
  'no-matching-discharge': 'No discharge belongs to this charge.',
  'held-back': 'Held back in this run.',
  'warning-sign': 'Carries a warning sign; such a cell is never offered for pairing.',
  'missing-value': 'A value of a chosen feature is missing.',
  'implausible-value':
    'A value of a chosen feature is not one that such a cell can have, and does not count.',
  'outside-cell-limit': 'Outside the limits for a single cell.',
  outlier: 'Too far from the median of the lot.',
  'no-acceptable-partner': 'No other cell lies within the pair limits.',
  'acceptable-partners-used': 'Every acceptable partner is used better elsewhere.',
  'odd-count': 'The count of cells is odd: one has to be left over.',
  'outside-full-groups': 'Left over when full groups were formed.',
  'too-few-points': 'There are too few points.',
  'outside-measured-range': 'This frequency lies outside the measured range.',
  'points-too-far-apart': 'The points on both sides are more than a decade of frequency apart.',
  'too-few-points-for-uncertainty': 'Too few points lie near it to tell its uncertainty.',
  'no-inductive-part':
    'The imaginary part does not fall through zero: it is capacitive at the high frequencies.',
  'no-capacitive-part': 'The imaginary part does not cross zero: it is inductive throughout.',
  'no-circuit-identified': 'No circuit was identified.',
  'soc-unknown':
    'The state of charge at the start of the record is not stated; say it under “What the record does not say”.',
  'soc-not-stated':
    'The state of charge is not stated, so the value is not compared with those of other cells.',
  'start-soc-unknown': 'The state of charge at the start is not stated.',
  'soc-out-of-range':
    'The counted state of charge is beyond full or empty: start, rated capacity or the current channel does not fit.',
  'capacity-unknown': 'The rated capacity is not known.',
  'charge-not-stated': 'The file states neither a state of charge nor a charge.',
  'negative-resistance': 'The resistance comes out negative.',
  'negative-diffusion': 'The diffusion coefficient comes out negative.',
  'apex-outside-range': 'The top of the arc lies outside the measured frequencies.',
  'arc-too-flat': 'The arc is too flat to be distinguished from its neighbours.',
  'time-constant-uncertain': 'The time constant is uncertain by more than half of itself.',
  'resistance-not-significant': 'The resistance is not significantly different from zero.',
  'diffusion-not-significant': 'The diffusion tail is not significant.',
  'aicc-higher': 'It describes the data no better for its further parameters.',
  'does-not-explain-the-log':
    'The fitted model does not explain the log: the value may be far from the true one.',
  'full-end-contradicted':
    'The charge ends with a full cell, and the fitted capacity and start put its end elsewhere: the open-circuit curve is not on the scale of this cell.',
  'start-not-stated-empty': 'It is not stated that the stack was discharged to its cut-off before the log.',
  'begins-under-current': 'The log begins under current.',
  'does-not-end-full': 'The charge does not end at the datasheet’s voltage with a small current.',
  'held-at-study': 'The log does not determine it: it is held at the value of the study.',
  'voltage-channel-off':
    'The voltage channel of this cell is off by more than its stated uncertainty; whether by an offset or a gain, the log does not tell.',
  'not-converged': 'The fit did not settle.',
  'not-identifiable': 'The data cannot tell this parameter.',
  'at-bound': 'The parameter lies at its bound.',
  'at-lower-bound': 'The parameter lies at its lower bound.',
  'at-upper-bound': 'The parameter lies at its upper bound.',
  'no-knee': 'No knee is visible.',
  'smooth-acceleration': 'The fade accelerates smoothly; it has no knee.',
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
  'unrepresentative-start': 'The first cycles do not belong to the course that follows.',
  'before-step':
    'Before a step of the level, such as a change of temperature, rate or fixture: what comes is forecast from the points after it.',
  'level-step':
    'The level of this cell steps at once, as after a change of temperature, rate or fixture. Limits and forecast hold for the conditions after the step.',
  failed: 'The cell or its connection failed: the series ends in such values.',
  'no-times': 'The values carry no time of measuring.',
  'one-time': 'All values carry the same time of measuring.',
  'too-few-values': 'There are too few values.',
  'outside-cells': 'It lies beyond the measured cells.',
  'too-few-cells': 'There are too few cells.',
  'no-stress-columns': 'The condition of the cycling is not in the data.',
  'no-variation': 'All cells were cycled alike.',
  'left-out-variance-low': 'Cells left out are predicted too badly.',
  'outside-temperature-window': 'Outside the temperature window: do not charge.',
  'below-minimum-temperature': 'Colder than the cell may be charged.',
  'above-maximum-temperature': 'Hotter than the cell may be charged.',
  'no-fitted-pulses': 'No pulse test of the cell has a fitted circuit at a known state of charge.',
  'temperature-not-stated': 'The pulse tests do not state their temperature.',
  'uncertainty-not-stated': 'The file states no uncertainty.',
  'no-capacity-measured': 'No capacity of the cell was measured.',
  'no-open-circuit-curve': 'No pulse test of the cell gave an open-circuit curve.',
  'outside-open-circuit-curve': 'The voltage lies outside the open-circuit curve of the cell.',
  'flat-open-circuit-curve': 'The open-circuit curve is too flat here to tell a current from the voltage.',
  'no-repeats': 'No cell was tested again at this condition.',
  'operators-not-stated':
    'No operators are named, so their differences are not in it; a cell table with a column “operator” brings them in.',
  'one-operator': 'One operator took all readings, so differences between operators are not in it.',
  'not-crossed':
    'Operators are named, but no two cells were measured twice by every one of them, so their differences cannot be separated from those of the cells.',
  'quantity-not-covered': 'The published law does not cover this quantity.',
  'axis-not-covered': 'This axis cannot be turned into what the published law counts in.',
  'one-cell': 'Only one cell was tested again at this condition.',
  'no-spread': 'All values are the same.',
  'limits-broken-at-lowest-rate': 'Even the lowest rate breaks a limit.',
  'cold-needs-datasheet':
    'Cold cells plate lithium at their usual rate; only the datasheet says how much this one takes.',
  'not-measured-in-the-cold': 'Measured at warmer temperatures only, or at one that is not known.',
  'resistance-growth-needs-fitted-cell': 'This needs a cell of the type with fitted parameters.',
  missing: 'The table holds no value here.',
  'below-plausible-limit': 'The value is implausibly low: the run was probably broken off.',
  'outside-range': 'Outside the range of the cycled cells.',
  'no-regression': 'The dependence on the conditions of cycling could not be fitted.',
  'charge-not-from-empty': 'More was discharged than charged: the charge did not start from empty.',
  'not-logged': 'The quantity was not logged.',
  'current-hardly-changes':
    'The current hardly changes, so that a resistance cannot be separated from a fixed loss.',
  'no-converter': 'The study has no converter.',
  'no-temperature': 'The temperature of the cell was not logged.',
  'too-little-warming': 'The cell warmed too little.',
  'not-separable': 'The record does not tell heat capacity from heat transfer.',
  'not-physical': 'The fit gave a value that cannot be.',
  'too-few-rows': 'There are too few rows.',
  'too-few-rests': 'There are too few rests at different states of charge.',
  'no-fit': 'Nothing could be fitted.',
  'tau-below-sampling': 'The time constant is shorter than the sampling can show.',
  'tau-beyond-record': 'The time constant is longer than the record can show.',
  'tau-uncertain': 'The time constant is too uncertain.',
  'branches-coincide': 'Two branches have nearly the same time constant.',
  'slope-not-significant': 'The slope of the voltage is not significantly different from zero.',
  'relaxation-too-slow': 'The voltage was still moving too slowly and too far to extrapolate its end.',
  'rest-too-short': 'The rest is too short.',
  'readings-all-equal': 'All readings are equal: how far the voltage may have moved unseen is not known.',
  'clock-restarted': 'The clock of the record restarts before this row.',
  'beyond-profile': 'The profile ends before this time.',
  'limit-not-given': 'The voltage limit is not stated.',
  'limit-reached': 'The pulse ended at the voltage limit.',
  'ocv-unknown': 'The open-circuit voltage at this state of charge is not known.',
  'ocv-beyond-limit': 'The open-circuit voltage lies beyond the voltage limit.',
  'wrong-sign': 'The voltage moves against the current.',
  'not-recorded': 'The record has no such column.',
  'one-sided': 'The specification has one limit only.',
  'newer-test': 'A newer test at the same temperature counts.',
  'fewer-states': 'A test at the same temperature covers more states of charge.',
  'no-fitted-cell': 'No cell of this type has been fitted.',
  'chemistry-in-general': 'This holds for the chemistry in general, not for a cell type.',
  'limits-not-stated': 'The voltage limits are not stated.',
  'no-pulse-pairs': 'The test has no discharge pulse followed by a charge pulse.',
  'one-temperature': 'Measured at one temperature only.',
  'import-undone': 'The import was undone.',
  'evaluated-again': 'The test was evaluated again.',
  'left-out': 'A person left the value out.',
  'fewer-than-two-ages': 'There are fitted logs at fewer than two ages.',
  'no-fitted-start-soc': 'No log of the stack has a fitted start SOC.',
  'one-age': 'There are values at one age only.',
  'not-recognised': 'The header is not recognised.',
  'unit-not-stated': 'The header does not state the unit.',
  'zero-residual': 'The model fits exactly, so that models cannot be compared.',
} as const satisfies Record<string, string>;
export type ReasonCode = keyof typeof reasonSentences;

/** The English sentence of a reason; a code that has none stands as it is. */
export function reasonSentence(code: string): string {
  return code in reasonSentences ? reasonSentences[code as ReasonCode] : `${code}.`;
}

/** Every reason code there is. */
export const knownReason = z.enum(Object.keys(reasonSentences) as [ReasonCode, ...ReasonCode[]]);

/** A reason code of an answer; null where there is nothing to explain. */
export const reasonCode = knownReason.nullable();
