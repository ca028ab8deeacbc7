import { type Fan, fanOf, LEAST_FINISHED, prepareSeries } from '../../../fitting/ageing/index.ts';
import type { AgeingCell, AgeingLimit, AgeingResult } from '../../contract/ageingResult.ts';
import type { AgeingAxis, AgeingQuantityName, AgeingTrack, PointReason } from '../../contract/ageingTrack.ts';
import type { PublishedLawRequest } from '../../contract/publishedLaws.ts';
import {
  type Crossed,
  crossingOf,
  type EvaluatedLimit,
  type ExperiencedCell,
  evaluateLimit,
  finishedCells,
  type LimitSettings,
} from './ageingLimitForecasts.ts';
import { type EndOfLife, usualLimits } from './ageingLimits.ts';
import { assessLot, type LotAssessment } from './ageingLot.ts';
import { assessStress, type StressInput } from './ageingStress.ts';
import { type AgeingInput, type CellTracks, prepareLot, type Track, trackOf } from './ageingTracks.ts';
import { presentTrack } from './presentAgeingTrack.ts';
import { publishedOverlay } from './publishedOverlays.ts';

/** Version of the evaluation: a change of any number it gives is a new version. */
export const AGEING_VERSION = '2.4.0';

/** Settings of an evaluation; all but the quantity have defaults. */
export interface AgeingSettings extends LimitSettings {
  readonly quantity: AgeingQuantityName;
  readonly axis?: AgeingAxis;
  readonly ratedCapacityAh?: number | null;
  /** Default: both usual criteria. */
  readonly limits?: readonly EndOfLife[];
  /** Use the lot's finished cells for its younger ones. Default true. */
  readonly lotPrior?: boolean;
  /** Pairs to follow, with the relative difference they may have. */
  readonly pairs?: readonly { readonly cells: readonly [string, string]; readonly tolerance: number }[];
  readonly stress?: StressInput;
  /** Published laws to be drawn beside each series. */
  readonly publishedLaws?: readonly PublishedLawRequest[];
  /** Called after each cell. */
  readonly onProgress?: (done: number, total: number) => void;
}

/** The cells of a table, and what is asked of them. */
export interface AgeingTableInput {
  readonly inputs: readonly AgeingInput[];
  readonly settings: AgeingSettings;
}

/**
 * Evaluates the ageing of the cells of one table: series, models, limits, forecasts, lot, pairs and stress. A pure
 * function of the series, the settings and {@link AGEING_VERSION}.
 *
 * @throws RangeError naming the cell or the setting that cannot be
 */
export function evaluateAgeingTable(inputs: readonly AgeingInput[], settings: AgeingSettings): AgeingResult {
  const table = prepareTable({ inputs, settings });
  return finishAgeing(
    table,
    inputs.map((_, i) => {
      const cell = cellOf(table, i);
      settings.onProgress?.(i + 1, inputs.length);
      return cell;
    }),
  );
}

/**
 * Some cells of {@link evaluateAgeingTable}, by their places in the table: models, limits and forecasts, with the whole
 * table's finished cells as experience.
 *
 * @throws RangeError as it does
 */
export function evaluateAgeingCells(
  given: AgeingTableInput,
  places: readonly number[],
  isStopped: () => boolean,
): AgeingCell[] {
  const table = preparedTables.get(given) ?? prepareTable(given);
  preparedTables.set(given, table);
  const cells: AgeingCell[] = [];
  for (const i of places) {
    if (isStopped()) break;
    cells.push(cellOf(table, i));
  }
  return cells;
}

/** The result of a table whose cells were evaluated by {@link evaluateAgeingCells}. @throws RangeError as there */
export function joinAgeingCells(given: AgeingTableInput, cells: readonly AgeingCell[]): AgeingResult {
  return finishAgeing(preparedTables.get(given) ?? prepareTable(given), cells);
}

/** Tables whose cells are evaluated in parts: preparing one again for each part would take as long as its cells. */
const preparedTables = new WeakMap<AgeingTableInput, PreparedTable>();

/** All series of a table, and what the cells say about one another. */
interface PreparedTable extends AgeingTableInput {
  readonly axis: AgeingAxis;
  readonly rated: number | null;
  readonly limits: readonly EndOfLife[];
  readonly lot: readonly CellTracks[];
  readonly restarts: { readonly [quantity in AgeingQuantityName]: readonly number[] };
  readonly crossings: readonly (readonly Crossed[])[];
  readonly finished: readonly (readonly ExperiencedCell[])[];
  readonly assessed: LotAssessment;
}

function prepareTable({ inputs, settings }: AgeingTableInput): PreparedTable {
  check(inputs, settings);
  const axis = settings.axis ?? 'cycle';
  const rated = settings.ratedCapacityAh ?? null;
  const limits = settings.limits ?? usualLimits(rated);
  const capacity = prepareLot(inputs, 'capacity', rated);
  const resistance = prepareLot(inputs, 'resistance', null);
  const lot: CellTracks[] = inputs.map(({ cell, conditions = {} }, i) => ({
    cell,
    conditions,
    tracks: { capacity: trackOf(capacity, i), resistance: trackOf(resistance, i) },
  }));
  const crossings = limits.map((limit) => lot.map((cell) => crossingOf(cell, limit, rated, settings.stays)));
  return {
    inputs,
    settings,
    axis,
    rated,
    limits,
    lot,
    restarts: { capacity: capacity.restarts, resistance: resistance.restarts },
    crossings,
    finished: limits.map((limit, l) => finishedCells(lot, limit, crossings[l], rated)),
    assessed: assessLot(lot, settings.quantity),
  };
}

/** Models, limits and forecasts of one cell. */
function cellOf({ settings, axis, limits, lot, ...table }: PreparedTable, i: number): AgeingCell {
  const cell = lot[i];
  const evaluated = limits.map((limit, l) =>
    evaluateLimit(
      cell,
      limit,
      table.crossings[l][i],
      settings.lotPrior === false ? [] : table.finished[l],
      settings,
    ),
  );
  const overlays = overlaysOf(cell, settings, axis);
  const presented = presentCell(cell, evaluated, settings.quantity, axis, table.restarts, overlays);
  return { ...presented, growthAgainstLoss: table.assessed.growth[i], flags: table.assessed.flags[i] };
}

function finishAgeing(
  { settings, axis, rated, limits, finished, assessed }: PreparedTable,
  cells: readonly AgeingCell[],
): AgeingResult {
  return {
    schemaVersion: 1,
    algorithm: { name: 'ageing', version: AGEING_VERSION },
    quantity: settings.quantity,
    axis,
    ratedCapacityAh: rated,
    cells: [...cells],
    pairs: (settings.pairs ?? []).map((pair) => assessed.drift(pair.cells, pair.tolerance)),
    stress: settings.stress === undefined ? null : assessStress(cells, settings.stress, settings.quantity),
    warnings: warningsOf(
      cells,
      limits,
      rated,
      finished.some((experience) => experience.length >= LEAST_FINISHED),
    ),
  };
}

function check(inputs: readonly AgeingInput[], settings: AgeingSettings): void {
  const seen = new Set<string>();
  for (const { cell, x, capacityAh, resistanceOhm } of inputs) {
    if (seen.has(cell)) throw new RangeError(`Cell ${cell} is given twice; give its points as one series`);
    seen.add(cell);
    for (const column of [capacityAh, resistanceOhm]) {
      if (column !== null && column.length !== x.length) {
        throw new RangeError(
          `Cell ${cell} has ${x.length} ages and ${column.length} values: they must be as many`,
        );
      }
    }
    const bad = x.findIndex((value) => !(value >= 0 && value < Infinity));
    if (bad >= 0) throw new RangeError(`Cell ${cell}: age ${x[bad]} is not a number from 0 on`);
  }
  const column = settings.quantity === 'capacity' ? 'capacityAh' : 'resistanceOhm';
  if (inputs.length > 0 && inputs.every((input) => input[column] === null)) {
    throw new RangeError(`No cell has a ${settings.quantity}; ask for the other quantity or name the column`);
  }
  const { ratedCapacityAh: rated } = settings;
  if (rated != null && !(rated > 0)) throw new RangeError(`Rated capacity must be positive, got ${rated} Ah`);
}

function presentCell(
  cell: CellTracks,
  limits: readonly EvaluatedLimit[],
  quantity: AgeingQuantityName,
  axis: AgeingAxis,
  restarts: { readonly [q in AgeingQuantityName]: readonly number[] },
  overlays: (quantity: AgeingQuantityName, track: Track, fan: Fan | null) => AgeingTrack['published'],
): Omit<AgeingCell, 'growthAgainstLoss' | 'flags'> {
  const other = quantity === 'capacity' ? 'resistance' : 'capacity';
  const show = (q: AgeingQuantityName) => {
    const track = cell.tracks[q];
    if (track === null) return null;
    const fan = fanFor(track, limits, q);
    return {
      ...presentTrack({ quantity: q, axis, ...track, restarts: restarts[q], fan }),
      published: overlays(q, track, fan),
    };
  };
  const empty = { x: new Float64Array(), y: new Float64Array() };
  const own = show(quantity) ?? {
    ...presentTrack({
      quantity,
      axis,
      series: prepareSeries(empty.x, empty.y, quantity),
      comparison: null,
      carriedOver: false,
      restarts: [],
      fan: null,
    }),
  };
  return {
    cell: cell.cell,
    ...own,
    limits: limits.map(({ limit }) => limit),
    earliest: earliestOf(limits.map(({ limit }) => limit)),
    companion: show(other),
  };
}

/** The published laws beside a series of this cell, drawn as far as its fan, or half as far again as its points. */
function overlaysOf(cell: CellTracks, settings: AgeingSettings, axis: AgeingAxis) {
  return (quantity: AgeingQuantityName, { series }: Track, fan: Fan | null): AgeingTrack['published'] =>
    (settings.publishedLaws ?? []).map((law) =>
      publishedOverlay(law, {
        quantity,
        axis,
        series,
        ratedCapacityAh: settings.ratedCapacityAh ?? null,
        firstCapacityAh: cell.tracks.capacity?.series.firstMeasured ?? null,
        until: fan?.x.at(-1) ?? 1.5 * (series.lastMeasuredAt ?? 0),
      }),
    );
}

/** The fan of the first limit of the quantity that has a forecast. */
function fanFor(track: Track, limits: readonly EvaluatedLimit[], quantity: AgeingQuantityName) {
  const { smooth, points, clean } = track.series;
  if (points === null) return null;
  const found = limits.find(({ limit, forecast }) => limit.quantity === quantity && forecast?.value != null);
  if (found?.forecast == null || found.limit.threshold === null) return null;
  const beyond = quantity === 'capacity' ? 'below' : 'above';
  return fanOf(found.forecast, found.limit.threshold, beyond, smooth[smooth.length - 1], clean.noise);
}

/** The earlier of all limits: the first crossed, else the first forecast. */
function earliestOf(limits: readonly AgeingLimit[]): AgeingCell['earliest'] {
  const crossed = limits.filter((limit) => limit.crossedAt !== null);
  crossed.sort((a, b) => (a.crossedAt ?? 0) - (b.crossedAt ?? 0));
  if (crossed.length > 0) {
    const { name, crossedAt, crossedBetween } = crossed[0];
    const { low = null, high = null } = crossedBetween ?? {};
    return { name, value: crossedAt, low, high, extrapolation: false, reason: null };
  }
  const ahead = limits.filter((limit) => limit.forecast.value !== null);
  ahead.sort((a, b) => (a.forecast.value ?? 0) - (b.forecast.value ?? 0));
  if (ahead.length > 0) {
    const { name, forecast } = ahead[0];
    const { value, low, high } = forecast;
    return { name, value, low, high, extrapolation: true, reason: null };
  }
  const reason = limits[0]?.forecast.reason ?? 'too-few-points';
  return { name: null, value: null, low: null, high: null, extrapolation: true, reason };
}

function warningsOf(
  cells: readonly AgeingCell[],
  limits: readonly EndOfLife[],
  rated: number | null,
  experienced: boolean,
): AgeingResult['warnings'] {
  const warnings: AgeingResult['warnings'] = [];
  const add = (code: AgeingResult['warnings'][number]['code'], cell: string | null, count: number): void => {
    if (count > 0) warnings.push({ code, cell, count });
  };
  for (const cell of cells) {
    add('points-left-out', cell.cell, cell.series.leftOut.length);
    add('carried-over-cell', cell.cell, cell.series.carriedOver ? 1 : 0);
    const leftOut = (reason: PointReason): number =>
      cell.series.leftOut.filter((point) => point.reason === reason).length;
    add('failed-cell', cell.cell, leftOut('failed'));
    add('unrepresentative-start', cell.cell, leftOut('unrepresentative-start'));
    add('level-step', cell.cell, leftOut('before-step'));
    add('low-rows-at-the-end', cell.cell, rowsBeyondAtEnd(cell));
    const forecasts = cell.limits.map((limit) => limit.forecast);
    const alone = forecasts.some((f) => f.method === 'model-average');
    add('no-comparable-cells', cell.cell, experienced && alone ? 1 : 0);
    add('extrapolation', cell.cell, forecasts.filter((f) => f.value !== null).length);
    add('forecast-refused', cell.cell, forecasts.filter((f) => f.reason === 'beyond-stated-ratio').length);
  }
  const leaning = cells.filter((cell) =>
    cell.limits.some(({ forecast: f }) => f.priorCells.length > 0 && f.priorConditions.length === 0),
  );
  add('conditions-not-stated', null, leaning.length);
  add('restart-of-the-bench', null, cells[0]?.series.restarts.length ?? 0);
  if (rated === null && limits.some((limit) => limit.basis === 'of-rated')) add('no-rated-capacity', null, 1);
  return warnings;
}

/** Rows at the very end that lie beyond the plausible limit, too few of them to say that the cell has failed. */
function rowsBeyondAtEnd({ quantity, series: { leftOut, value } }: AgeingCell): number {
  const aged = quantity === 'capacity' ? 'below-plausible-limit' : 'above-plausible-limit';
  const indices = new Set(leftOut.filter(({ reason }) => reason === aged).map(({ index }) => index));
  let count = 0;
  for (let i = value.length - 1; i >= 0 && indices.has(i); i--) count++;
  return count;
}
