import type { PreparedSeries } from '../../../fitting/ageing/index.ts';
import { schmalstiegAgeing, varianceInflation, wangLoss } from '../../../fitting/ageing/index.ts';
import { coverageFactor, fitLine } from '../../../fitting/least-squares/index.ts';
import type { AgeingAxis, AgeingQuantityName } from '../../contract/ageingTrack.ts';
import type { PublishedLaw, PublishedLawRequest } from '../../contract/publishedLaws.ts';
import { checkResiduals } from '../checkResiduals.ts';

/** What is known of the series that a law is drawn beside. */
export interface OverlaidSeries {
  readonly quantity: AgeingQuantityName;
  readonly axis: AgeingAxis;
  readonly series: PreparedSeries;
  readonly ratedCapacityAh: number | null;
  /** First capacity of the cell, to turn throughput into full cycles where no rated capacity is known. */
  readonly firstCapacityAh: number | null;
  /** x up to which the law is drawn. */
  readonly until: number;
}

const CURVE_POINTS = 60;
const WANG_CELL_AH = 2.2;
const SCHMALSTIEG_CELL_AH = 2.05;

/** Sources and scope; the temperatures and the counting of throughput in both directions are from memory. */
const ABOUT: Readonly<Record<PublishedLaw['law'], Pick<PublishedLaw, 'source' | 'scope'>>> = {
  'wang-2011': {
    source: 'Wang et al., J. Power Sources 196 (2011) 3942',
    scope: 'cycling of LFP/graphite cells of 2.2 Ah, 15 to 60 °C, at C/2, 2C, 6C and 10C',
  },
  'schmalstieg-2014': {
    source: 'Schmalstieg et al., J. Power Sources 257 (2014) 325',
    scope: 'NMC/graphite cells 18650 of 2.05 Ah, 35 to 50 °C, throughput counted in both directions',
  },
};

/** The change since new, as a fraction, at x; null where the law does not apply. */
type Change = (x: number) => number | null;

/** One published law beside one series. */
export function publishedOverlay(request: PublishedLawRequest, on: OverlaidSeries): PublishedLaw {
  const { law, ...conditions } = request;
  const about = ABOUT[law];
  const [coldest, hottest] = law === 'wang-2011' ? [15, 60] : [35, 50];
  const common = {
    law,
    ...about,
    outsideScope: request.temperatureC < coldest || request.temperatureC > hottest,
    conditions,
    curve: null,
    factor: null,
  };
  if (law === 'wang-2011' && on.quantity === 'resistance')
    return { ...common, reason: 'quantity-not-covered' };
  const change = changeOf(request, on);
  if (change(1) === null) return { ...common, reason: 'axis-not-covered' };
  const { points, initial } = on.series;
  if (points === null || initial === null) return { ...common, reason: 'too-few-points' };
  const sign = on.quantity === 'capacity' ? -1 : 1;
  const x = Array.from({ length: CURVE_POINTS + 1 }, (_, i) => (on.until * i) / CURVE_POINTS);
  const y = x.map((at) => initial * (1 + sign * (change(at) ?? Number.NaN)));
  return {
    ...common,
    curve: y.every(Number.isFinite) ? { x, y } : null,
    factor: factorOf(points, sign, change),
    reason: null,
  };
}

/** Full cycles at x, or null where the axis does not tell them. */
function fullCyclesAt(request: PublishedLawRequest, on: OverlaidSeries, x: number): number | null {
  switch (on.axis) {
    case 'cycle':
      return x * request.depthOfDischarge;
    case 'equivalent-full-cycles':
      return x;
    case 'throughput-ah': {
      const capacity = on.ratedCapacityAh ?? on.firstCapacityAh;
      return capacity === null ? null : x / (2 * capacity);
    }
    case 'days':
      return request.law === 'wang-2011' ? null : x * request.cyclesPerDay * request.depthOfDischarge;
  }
}

function changeOf(request: PublishedLawRequest, on: OverlaidSeries): Change {
  if (request.law === 'wang-2011') {
    return (x) => {
      const cycles = fullCyclesAt(request, on, x);
      return cycles === null ? null : wangLoss(request.cRate, request.temperatureC, WANG_CELL_AH * cycles);
    };
  }
  return (x) => {
    const cycles = fullCyclesAt(request, on, x);
    if (cycles === null) return null;
    const days = on.axis === 'days' ? x : cycles / (request.cyclesPerDay * request.depthOfDischarge);
    const found = schmalstiegAgeing(request, days, 2 * SCHMALSTIEG_CELL_AH * cycles);
    return on.quantity === 'capacity' ? found.capacityLoss : found.resistanceGrowth;
  };
}

/** y = a (1 ± f · change), a and f free: how many times the law's change the points show. */
function factorOf(
  { x, y }: { readonly x: Float64Array; readonly y: Float64Array },
  sign: number,
  change: Change,
): PublishedLaw['factor'] {
  const changes = x.map((at) => change(at) ?? Number.NaN);
  if (x.length < 3 || new Set(changes).size < 2) return null;
  const line = fitLine(changes, y);
  const [intercept, slope] = line.parameters;
  const value = (sign * slope.value) / intercept.value;
  const residuals = y.map((at, i) => at - intercept.value - slope.value * changes[i]);
  const inflation = varianceInflation(residuals);
  const { covariance } = line;
  // Ratio of slope and intercept, to first order: the intercept is known far better than the slope.
  const variance =
    covariance === null
      ? null
      : covariance[1][1] - 2 * sign * value * covariance[0][1] + value ** 2 * covariance[0][0];
  const half =
    variance === null
      ? null
      : (coverageFactor(line, 0.95) * Math.sqrt(Math.max(variance, 0) * inflation)) /
        Math.abs(intercept.value);
  const { verdict } = checkResiduals(Array.from(residuals));
  return {
    value,
    low: half === null ? null : value - half,
    high: half === null ? null : value + half,
    follows: verdict === 'too-few' ? 'too-few' : verdict === 'pattern' ? 'pattern' : 'follows',
  };
}
