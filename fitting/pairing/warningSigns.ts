import { medianOf, robustStandardDeviation } from './lotFeature.ts';

/** A cell that loses more than this above the lot's median drifts. Common practice, no source: K values of sound cells lie within a few tenths of a mV a day. */
const DRIFT_MARGIN_MV_PER_DAY = 0.3;
const DRIFT_SCORE = 3.5;
/** A cell this far below the lot's median open-circuit voltage has discharged itself. Common practice, no source. */
const OCV_MARGIN_V = 0.015;
const OCV_SCORE = 5;
/** With fewer values the lot does not say what is usual in it. */
const LEAST_VALUES = 5;

/** What is measured of a cell that can be a warning sign; null where it is not. */
export interface SelfDischargeEvidence {
  /** Change of the open-circuit voltage, negative for a loss. */
  readonly driftMvPerDay: number | null;
  readonly driftUncertaintyMvPerDay: number | null;
  /** Open-circuit voltage as delivered: at the state of charge that all cells of the lot share. */
  readonly ocvV: number | null;
}

/** A sign of self-discharge: the value of a cell, and the limit below which it lies. */
export interface SelfDischargeSign {
  /** Place of the cell among those given. */
  readonly cell: number;
  readonly code: 'voltage-drift' | 'low-ocv';
  readonly value: number;
  readonly limit: number;
}

/**
 * Cells that discharge themselves: their voltage falls faster than that of the lot by more than a margin and 3.5 robust
 * standard deviations, or lies below that of the lot by more than a margin and 5 of them. A drift counts where it is
 * beyond the limit by twice its standard uncertainty.
 */
export function selfDischargeSigns(cells: readonly SelfDischargeEvidence[]): SelfDischargeSign[] {
  const driftLimit = limitBelow(
    cells.map(({ driftMvPerDay }) => driftMvPerDay),
    DRIFT_MARGIN_MV_PER_DAY,
    DRIFT_SCORE,
    0,
  );
  const ocvLimit = limitBelow(
    cells.map(({ ocvV }) => ocvV),
    OCV_MARGIN_V,
    OCV_SCORE,
    null,
  );
  return cells.flatMap(({ driftMvPerDay, driftUncertaintyMvPerDay, ocvV }, cell): SelfDischargeSign[] => [
    ...(driftMvPerDay !== null &&
    driftLimit !== null &&
    driftMvPerDay + 2 * (driftUncertaintyMvPerDay ?? 0) < driftLimit
      ? [{ cell, code: 'voltage-drift' as const, value: driftMvPerDay, limit: driftLimit }]
      : []),
    ...(ocvV !== null && ocvLimit !== null && ocvV < ocvLimit
      ? [{ cell, code: 'low-ocv' as const, value: ocvV, limit: ocvLimit }]
      : []),
  ]);
}

/** @param fewCentre what is usual where too few values say it; null: then there is no limit */
function limitBelow(
  all: readonly (number | null)[],
  margin: number,
  score: number,
  fewCentre: number | null,
): number | null {
  const values = all.filter((value): value is number => value !== null);
  if (values.length < LEAST_VALUES) return fewCentre === null ? null : fewCentre - margin;
  const scale = robustStandardDeviation(values) ?? 0;
  return (medianOf(values) ?? 0) - Math.max(margin, score * scale);
}
