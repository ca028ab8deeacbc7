import { cleanSeries } from '../../../fitting/ageing/index.ts';
import type { Measurement } from '../../contract/measurements.ts';
import type { LifeTrack } from '../../contract/stackLife.ts';

/** A cell of a stack with the values that its tests gave. */
export interface CellOverLife {
  readonly cellId: number;
  readonly serial: string;
  readonly measurements: readonly Measurement[];
}

type Point = LifeTrack['points'][number];

/** 97.5 % quantile of the normal distribution. */
export const NORMAL_95 = 1.959963984540054;
/** The condition that is shown where a cell has several: common practice of pulse tests. */
const USUAL = { durationS: 10, soc: 0.5 } as const;
/** Values at temperatures or states of charge this close belong to one condition. */
const SAME_TEMPERATURE_C = 3;
const SAME_SOC = 0.05;

/** Capacity and resistance of each cell over its cycles, each at the one condition that has most ages. */
export function tracksOf(
  cells: readonly CellOverLife[],
  reference: { readonly temperatureC: number },
): LifeTrack[] {
  return cells.flatMap((cell) => {
    const valid = cell.measurements.filter(
      (m) => m.value !== null && m.excludedReason === null && m.cycle !== null,
    );
    const capacity = valid.filter((m) => m.quantity === 'capacity');
    const resistance = valid.filter((m) => m.quantity === 'resistance' && m.durationS !== null);
    return [
      ...trackOf(cell, 'capacity', capacity, reference),
      ...trackOf(cell, 'resistance', resistance, reference),
    ];
  });
}

function trackOf(
  { cellId, serial }: CellOverLife,
  quantity: LifeTrack['quantity'],
  measurements: readonly Measurement[],
  reference: { readonly temperatureC: number },
): LifeTrack[] {
  const best = conditionsOf(measurements).sort(
    (a, b) => ages(b) - ages(a) || away(a[0], reference) - away(b[0], reference),
  )[0];
  if (best === undefined) return [];
  const [first] = best;
  const points = best
    .map(
      (m): Point => ({
        cycle: m.cycle ?? 0,
        value: m.value ?? 0,
        standardUncertainty: m.standardUncertainty,
        leftOut: null,
      }),
    )
    .sort((a, b) => a.cycle - b.cycle);
  const marked = withLeftOut(points, quantity);
  return [
    {
      cellId,
      serial,
      quantity,
      source: 'pulse',
      unit: first.unit,
      durationS: first.durationS,
      soc: first.soc,
      temperatureC: first.temperatureC,
      points: marked,
      ...changeOf(marked.filter(({ leftOut }) => leftOut === null)),
    },
  ];
}

/** The window in which a point is compared with its neighbours; fewer points say nothing of one of them. */
const LEAST_TO_CLEAN = 15;

/** Points that the ageing of the cell leaves out too are marked: one of them at the end would be the whole change. */
function withLeftOut(points: readonly Point[], quantity: LifeTrack['quantity']): Point[] {
  const rises = points.every((point, i) => i === 0 || point.cycle > points[i - 1].cycle);
  if (points.length < LEAST_TO_CLEAN || !rises) return [...points];
  const { leftOut } = cleanSeries(
    Float64Array.from(points, ({ cycle }) => cycle),
    Float64Array.from(points, ({ value }) => value),
    quantity,
  );
  const reasons = new Map(leftOut.map(({ index, reason }) => [index, reason]));
  return points.map((point, i) => ({ ...point, leftOut: reasons.get(i) ?? null }));
}

const ages = (of: readonly Measurement[]): number => new Set(of.map(({ cycle }) => cycle)).size;

function away(
  { durationS, soc, temperatureC }: Measurement,
  reference: { readonly temperatureC: number },
): number {
  return (
    10 * Math.abs((soc ?? USUAL.soc) - USUAL.soc) +
    Math.abs(Math.log((durationS ?? USUAL.durationS) / USUAL.durationS)) +
    Math.abs((temperatureC ?? reference.temperatureC) - reference.temperatureC) / 10
  );
}

/** Values that may be compared: one method, duration and direction; temperature and state of charge alike. */
function conditionsOf(measurements: readonly Measurement[]): Measurement[][] {
  const groups: Measurement[][] = [];
  for (const m of measurements) {
    const group = groups.find(([one]) => isAlike(one, m));
    if (group === undefined) groups.push([m]);
    else group.push(m);
  }
  return groups;
}

function isAlike(a: Measurement, b: Measurement): boolean {
  const near = (x: number | null, y: number | null, within: number) =>
    x === null || y === null ? x === y : Math.abs(x - y) <= within;
  return (
    a.method === b.method &&
    a.durationS === b.durationS &&
    a.direction === b.direction &&
    near(a.temperatureC, b.temperatureC, SAME_TEMPERATURE_C) &&
    near(a.soc, b.soc, SAME_SOC)
  );
}

/** From the first to the last age; the uncertainties of both add as variances. */
export function changeOf(points: readonly Point[]): Pick<LifeTrack, 'change' | 'reason'> {
  const first = points[0];
  const last = points[points.length - 1];
  if (last === undefined || last.cycle === first.cycle) return { change: null, reason: 'one-age' };
  const ratio = last.value / first.value;
  const [u1, u2] = [first.standardUncertainty, last.standardUncertainty];
  const half =
    u1 === null || u2 === null ? null : NORMAL_95 * ratio * Math.hypot(u1 / first.value, u2 / last.value);
  return {
    change: {
      value: ratio - 1,
      low: half === null ? null : ratio - 1 - half,
      high: half === null ? null : ratio - 1 + half,
      fromCycle: first.cycle,
      toCycle: last.cycle,
    },
    reason: null,
  };
}
