import { monotoneCurve } from '../numeric/index.ts';
import { type OcvPoint, ocvCurve } from './ocvCurve.ts';

/** Open-circuit voltage of one rest of a record. */
export interface RestedPoint extends OcvPoint {
  readonly socStandardUncertainty: number;
  readonly timeS: number;
  /** Direction of the current before the rest. */
  readonly after: 'charge' | 'discharge' | 'unknown';
}

/** A point of the curve of a record's rests. */
export interface RestCurvePoint extends OcvPoint {
  readonly slopeV: number;
  /** Open-circuit voltage after a charge minus that after a discharge; null where one of them is missing. */
  readonly hysteresisV: number | null;
}

/** Rests after the same direction closer than this in SOC are one point of the curve: the last of them. */
const SAME_SOC = 0.005;
const FEWEST_POINTS = 3;
/** Half-width of a rectangular error as a standard deviation, of half of a difference. */
const OF_WIDTH = 1 / 2 / Math.sqrt(3);

/**
 * The open-circuit curve of a record's rests. Where the record has rests after charges and after discharges, their mean, with
 * the difference between them as hysteresis and half of it as a rectangular half-width in the uncertainty; where it has one
 * of them at that SOC, its own voltage, which then may lie off by half of the difference seen elsewhere. What the SOC is
 * uncertain by counts by the slope of the curve.
 *
 * @returns ascending in SOC; null for fewer than three points
 */
export function restCurve(rests: readonly RestedPoint[]): readonly RestCurvePoint[] | null {
  const of = (direction: RestedPoint['after']) => rests.filter(({ after }) => after === direction);
  const [discharge, charge] = [thinned(of('discharge')), thinned(of('charge'))];
  const points: Averaged[] =
    discharge.length > 0 && charge.length > 0
      ? averaged(discharge, charge, of('unknown'))
      : thinned(rests).map((point) => ({ ...point, hysteresisV: null }));
  if (points.length < FEWEST_POINTS) return null;
  const rough = ocvCurve(points);
  if (rough === null) return null;
  const curve = ocvCurve(
    points.map((point) => ({
      ...point,
      standardUncertaintyV: Math.hypot(
        point.standardUncertaintyV,
        rough.slopeAt(point.soc) * point.socStandardUncertainty,
      ),
    })),
  );
  if (curve === null || curve.points.length < FEWEST_POINTS) return null;
  const hysteresis = new Map(points.map(({ soc, hysteresisV }) => [soc, hysteresisV]));
  return curve.points.map((point) => ({
    ...point,
    slopeV: curve.slopeAt(point.soc),
    hysteresisV: hysteresis.get(point.soc) ?? null,
  }));
}

type Averaged = OcvPoint & { readonly socStandardUncertainty: number; readonly hysteresisV: number | null };

/** In order of SOC; of those at one SOC the last in time. */
function thinned(rests: readonly RestedPoint[]): RestedPoint[] {
  const kept: RestedPoint[] = [];
  for (const rest of [...rests].sort((a, b) => a.soc - b.soc)) {
    const last = kept[kept.length - 1];
    if (last === undefined || rest.soc - last.soc >= SAME_SOC) kept.push(rest);
    else if (rest.timeS > last.timeS) kept[kept.length - 1] = rest;
  }
  return kept;
}

/** Every rest of one branch beside the other at the same SOC; one after an unknown current stands alone. */
function averaged(
  discharge: readonly RestedPoint[],
  charge: readonly RestedPoint[],
  unknown: readonly RestedPoint[],
): Averaged[] {
  const [ofDischarge, ofCharge] = [branchOf(discharge), branchOf(charge)];
  const both = [
    ...discharge.map((point) => beside(point, ofCharge, 1)),
    ...charge.map((point) => beside(point, ofDischarge, -1)),
    ...unknown.map((point) => ({ ...point, hysteresisV: null })),
  ].sort((a, b) => a.soc - b.soc);
  const widths = both.flatMap(({ hysteresisV }) => (hysteresisV === null ? [] : [hysteresisV ** 2]));
  const usualV =
    widths.length === 0 ? 0 : Math.sqrt(widths.reduce((sum, one) => sum + one, 0) / widths.length);
  const found: Averaged[] = [];
  for (const point of both) {
    const last = found[found.length - 1];
    const one = {
      ...point,
      standardUncertaintyV: Math.hypot(
        point.standardUncertaintyV,
        OF_WIDTH * Math.abs(point.hysteresisV ?? usualV),
      ),
    };
    if (last === undefined || one.soc - last.soc >= SAME_SOC) found.push(one);
    // The rest of the one branch beside that of the other says the same twice; one that stands alone says less.
    else if (
      last.hysteresisV === null ||
      (one.hysteresisV !== null && one.standardUncertaintyV < last.standardUncertaintyV)
    )
      found[found.length - 1] = one;
  }
  return found;
}

interface Branch {
  readonly from: number;
  readonly to: number;
  at(soc: number): { readonly ocvV: number; readonly standardUncertaintyV: number };
}

function branchOf(points: readonly RestedPoint[]): Branch {
  const soc = points.map((point) => point.soc);
  const [from, to] = [soc[0], soc[soc.length - 1]];
  if (points.length < 2) return { from, to, at: () => points[0] };
  const volts = points.map(({ ocvV }) => ocvV);
  const curve = monotoneCurve(soc, volts);
  const uncertainty = monotoneCurve(
    soc,
    points.map((point) => point.standardUncertaintyV),
  );
  return {
    from,
    to,
    at: (z) => {
      const next = Math.min(
        Math.max(
          1,
          soc.findIndex((one) => one >= z),
        ),
        soc.length - 1,
      );
      return {
        ocvV: curve.at(z),
        standardUncertaintyV: Math.hypot(uncertainty.at(z), openBetween(soc, volts, next, z)),
      };
    },
  };
}

/**
 * What is open of a curve between two of its points, as a standard deviation: one that bends one way runs between its chord
 * there and the chords beside it, drawn on.
 */
function openBetween(soc: readonly number[], volts: readonly number[], next: number, z: number): number {
  const chord = (i: number): number =>
    volts[i - 1] + ((z - soc[i - 1]) / (soc[i] - soc[i - 1])) * (volts[i] - volts[i - 1]);
  const within = [next - 1, next, next + 1].filter((i) => i >= 1 && i < soc.length).map(chord);
  return (Math.max(...within) - Math.min(...within)) * OF_WIDTH;
}

/** @param sign 1 where the point follows a discharge, −1 where it follows a charge */
function beside(point: RestedPoint, other: Branch, sign: 1 | -1): Averaged {
  const reach = SAME_SOC;
  if (point.soc < other.from - reach || point.soc > other.to + reach) return { ...point, hysteresisV: null };
  const there = other.at(Math.min(Math.max(point.soc, other.from), other.to));
  return {
    soc: point.soc,
    socStandardUncertainty: point.socStandardUncertainty,
    ocvV: (point.ocvV + there.ocvV) / 2,
    standardUncertaintyV: Math.hypot(point.standardUncertaintyV, there.standardUncertaintyV) / 2,
    hysteresisV: sign * (there.ocvV - point.ocvV),
  };
}
