import { monotoneCurve } from '../numeric/index.ts';
import type { RecordColumns, RowRange } from '../records/index.ts';

/** OCV from a slow discharge and a slow charge. */
export interface SlowCurve {
  readonly soc: readonly number[];
  /** Mean of both directions, or the one there is. */
  readonly ocvV: readonly number[];
  readonly standardUncertaintyV: readonly number[];
  /** Charge minus discharge at the same SOC; null with one direction only. */
  readonly hysteresisV: readonly (number | null)[];
  readonly source: 'slow-discharge' | 'slow-charge' | 'slow-average';
  /** Amounts moved, before any correction. */
  readonly dischargeAh: number | null;
  readonly chargeAh: number | null;
}

export interface SlowCurveSettings {
  readonly points?: number;
  readonly seriesOhm?: number;
  readonly oneWayV?: number;
}

/** Least standard uncertainty of one direction alone, in V. */
const ONE_WAY_V = 0.02;
/** Points on each side of one whose difference between the directions counts for it. */
const NEIGHBOURS = 3;

/**
 * OCV curve from a full slow discharge and/or charge at constant current.
 *
 * Each direction is counted by its own charge from end to end, so that a current channel with an offset does
 * not shift one against the other; series resistance is taken off first. The mean of both halves hysteresis
 * and polarisation out; half of what is left between them (as a rectangular half width, /√3) is the
 * uncertainty. Where both are drawn apart by their scales of charge they cross: beside a place where they agree the
 * difference of its neighbourhood counts. One direction alone may lie off by all of its polarisation.
 *
 * @param oneWayV largest polarisation of one direction alone, in V
 * @param seriesOhm extra resistance outside the cell, e.g. of two-wire leads
 * @throws RangeError where neither direction is given or one moves no charge
 */
export function slowCurve(
  record: RecordColumns,
  ranges: { readonly discharge?: RowRange; readonly charge?: RowRange },
  { points = 101, seriesOhm = 0, oneWayV }: SlowCurveSettings = {},
): SlowCurve {
  const discharge = ranges.discharge && branch(record, ranges.discharge, seriesOhm);
  const charge = ranges.charge && branch(record, ranges.charge, seriesOhm);
  if (!discharge && !charge) throw new RangeError('A slow discharge or a slow charge is needed');
  const soc = Array.from({ length: points }, (_, i) => i / (points - 1));
  const hysteresisV = soc.map((z) => (discharge && charge ? charge.at(z) - discharge.at(z) : null));
  const both = discharge && charge;
  return {
    soc,
    ocvV: soc.map((z) => (both ? 0.5 * (discharge.at(z) + charge.at(z)) : (discharge ?? charge)!.at(z))),
    standardUncertaintyV: hysteresisV.map((width, i) =>
      width === null
        ? Math.max(ONE_WAY_V, (oneWayV ?? 0) / Math.sqrt(3))
        : widest(hysteresisV, i) / 2 / Math.sqrt(3),
    ),
    hysteresisV,
    source: both ? 'slow-average' : discharge ? 'slow-discharge' : 'slow-charge',
    dischargeAh: discharge?.movedAh ?? null,
    chargeAh: charge?.movedAh ?? null,
  };
}

/** The root mean square of the differences about a point, or its own where it is larger. */
function widest(hysteresisV: readonly (number | null)[], at: number): number {
  const about = hysteresisV
    .slice(Math.max(0, at - NEIGHBOURS), at + NEIGHBOURS + 1)
    .map((width) => width ?? 0);
  const mean = Math.sqrt(about.reduce((sum, width) => sum + width ** 2, 0) / about.length);
  return Math.max(mean, Math.abs(hysteresisV[at] ?? 0));
}

function branch(
  record: RecordColumns,
  range: RowRange,
  seriesOhm: number,
): { at(soc: number): number; movedAh: number } {
  const { timeS, currentA, voltageV } = record;
  const moved: number[] = [0];
  for (let k = range.start + 1; k < range.end; k++) {
    const ampereSeconds = 0.5 * (currentA[k] + currentA[k - 1]) * (timeS[k] - timeS[k - 1]);
    moved.push(moved[moved.length - 1] + ampereSeconds / 3600);
  }
  const total = moved[moved.length - 1];
  if (total === 0) throw new RangeError(`Rows ${range.start} to ${range.end} move no charge`);
  const soc: number[] = [];
  const volts: number[] = [];
  const from = total < 0 ? 1 : 0;
  moved.forEach((amount, i) => {
    const z = from + amount / Math.abs(total);
    const row = range.start + i;
    const steps = total < 0 ? soc[soc.length - 1] - z : z - soc[soc.length - 1];
    if (i > 0 && !(steps > 1e-7)) return;
    soc.push(z);
    volts.push(voltageV[row] - seriesOhm * currentA[row]);
  });
  if (total < 0) {
    soc.reverse();
    volts.reverse();
  }
  const curve = monotoneCurve(soc, volts);
  return { at: (z) => curve.at(z), movedAh: Math.abs(total) };
}
