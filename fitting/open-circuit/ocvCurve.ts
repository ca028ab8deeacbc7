import { type MonotoneCurve, monotoneCurve } from '../numeric/index.ts';

/** A point of an OCV curve. */
export interface OcvPoint {
  readonly soc: number;
  readonly ocvV: number;
  readonly standardUncertaintyV: number;
}

/** Uncertainties below this weigh alike where voltages are levelled, in V. */
const EXACT_V = 1e-4;

/** SOC read off an OCV curve. */
export interface SocEstimate {
  readonly soc: number;
  /**
   * From the voltage's, the curve's and, where given, the hysteresis's uncertainty over the slope; at most
   * 1/√12 (nothing known).
   */
  readonly standardUncertainty: number;
  /** True where the voltage lies beyond the curve's ends: the nearest end is given. */
  readonly outside: boolean;
}

/** Open-circuit voltage over state of charge. */
export interface OcvCurve {
  readonly curve: MonotoneCurve;
  readonly points: readonly OcvPoint[];
  ocvAt(soc: number): number;
  /** dOCV/dSOC in V. */
  slopeAt(soc: number): number;
  /** Interpolated standard uncertainty of the OCV. */
  uncertaintyAt(soc: number): number;
  /**
   * State of charge at a voltage. Where the curve is flat the uncertainty is large, not the answer wrong.
   *
   * @param hysteresisV full width between charge and discharge branch where it is not known which one applies
   */
  socAt(ocvV: number, standardUncertaintyV: number, hysteresisV?: number): SocEstimate;
}

/**
 * Builds an OCV curve by monotone interpolation. Points are ordered by SOC; those at one SOC (to 1e-9) are
 * averaged; voltages that fall with SOC are levelled to their weighted mean, because an OCV curve does not fall, and are as
 * uncertain as they were moved: least-squares isotonic regression by pooling neighbours (R. E. Barlow et al., Statistical
 * Inference under Order Restrictions, 1972).
 *
 * @returns null for fewer than two different SOCs
 */
export function ocvCurve(points: readonly OcvPoint[]): OcvCurve | null {
  const merged = mergePoints(points);
  if (merged.length < 2) return null;
  const levelled = rising(merged);
  const soc = levelled.map((point) => point.soc);
  const curve = monotoneCurve(
    soc,
    levelled.map((point) => point.ocvV),
  );
  const uncertainty = monotoneCurve(
    soc,
    levelled.map((point) => point.standardUncertaintyV),
  );
  const uncertaintyAt = (at: number): number => uncertainty.at(at);
  return {
    curve,
    points: levelled,
    ocvAt: (at) => curve.at(at),
    slopeAt: (at) => curve.slopeAt(at),
    uncertaintyAt,
    socAt(ocvV, standardUncertaintyV, hysteresisV = 0) {
      const { x, y } = curve;
      const last = x.length - 1;
      const outside = ocvV < y[0] || ocvV > y[last];
      const at = outside ? (ocvV < y[0] ? x[0] : x[last]) : invert(curve, ocvV);
      const u = Math.hypot(standardUncertaintyV, uncertaintyAt(at), hysteresisV / Math.sqrt(12));
      return { soc: at, standardUncertainty: socUncertainty(curve, at, u), outside };
    },
  };
}

function mergePoints(points: readonly OcvPoint[]): OcvPoint[] {
  const sorted = [...points].sort((a, b) => a.soc - b.soc);
  const merged: { soc: number; sum: number; squares: number; count: number }[] = [];
  for (const point of sorted) {
    const last = merged[merged.length - 1];
    if (last && point.soc - last.soc < 1e-9) {
      last.sum += point.ocvV;
      last.squares += point.standardUncertaintyV ** 2;
      last.count++;
    } else {
      merged.push({ soc: point.soc, sum: point.ocvV, squares: point.standardUncertaintyV ** 2, count: 1 });
    }
  }
  return merged.map(({ soc, sum, squares, count }) => ({
    soc,
    ocvV: sum / count,
    standardUncertaintyV: Math.sqrt(squares) / count,
  }));
}

/** Points in order of SOC whose voltages nowhere fall. */
function rising(points: readonly OcvPoint[]): OcvPoint[] {
  const pools: { weight: number; ocvV: number; members: OcvPoint[] }[] = [];
  for (const point of points) {
    let pool = {
      // A point that is known exactly does not forbid the others to count.
      weight: 1 / Math.max(point.standardUncertaintyV, EXACT_V) ** 2,
      ocvV: point.ocvV,
      members: [point],
    };
    for (let last = pools[pools.length - 1]; last && last.ocvV > pool.ocvV; last = pools[pools.length - 1]) {
      const weight = last.weight + pool.weight;
      pool = {
        weight,
        ocvV: (last.weight * last.ocvV + pool.weight * pool.ocvV) / weight,
        members: [...last.members, ...pool.members],
      };
      pools.pop();
    }
    pools.push(pool);
  }
  return pools.flatMap(({ ocvV, members }) =>
    members.map((member) => ({
      ...member,
      ocvV,
      standardUncertaintyV: Math.hypot(member.standardUncertaintyV, ocvV - member.ocvV),
    })),
  );
}

/** Middle of the SOCs at which the curve has the voltage, by bisection from both sides. */
function invert(curve: MonotoneCurve, ocvV: number): number {
  const search = (below: (value: number) => boolean): number => {
    let low = curve.x[0];
    let high = curve.x[curve.x.length - 1];
    for (let i = 0; i < 60; i++) {
      const middle = 0.5 * (low + high);
      if (below(curve.at(middle))) low = middle;
      else high = middle;
    }
    return 0.5 * (low + high);
  };
  return 0.5 * (search((value) => value < ocvV) + search((value) => value <= ocvV));
}

/**
 * Half the SOC that the curve takes between OCV − u and OCV + u: fair also where the slope changes within
 * that span.
 */
function socUncertainty(curve: MonotoneCurve, soc: number, u: number): number {
  const { x, y } = curve;
  const last = x.length - 1;
  const ocvV = curve.at(soc);
  const low = ocvV - u <= y[0] ? x[0] : invert(curve, ocvV - u);
  const high = ocvV + u >= y[last] ? x[last] : invert(curve, ocvV + u);
  const slope = curve.slopeAt(soc);
  const local = slope > 0 ? u / slope : Infinity;
  const span = Math.max(soc - low, high - soc);
  return Math.min(Math.max(Math.min(local, 1), span), 1 / Math.sqrt(12));
}
