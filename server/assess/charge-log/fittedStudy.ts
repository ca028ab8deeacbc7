import type {
  CellToFit,
  LogEstimate,
  LogFit,
  LogQuantity,
  PreparedLogs,
} from '../../../fitting/charge-log/index.ts';
import { forKnots } from '../../../fitting/charge-log/index.ts';
import { BRANCH, ENTROPIC, OCV, R0 } from '../../../fitting/charging/index.ts';
import { GAS_CONSTANT, ZERO_CELSIUS_K } from '../../../fitting/numeric/index.ts';
import type { ChargeCellDescription, ChargeStudyDescription } from '../../contract/chargeStudy.ts';

/** Two points of a grid closer than this are one. */
const SAME_SOC = 1e-4;
/** A curve with straight corrections has corners at them: points this close keep its shape between them. */
const LARGEST_STEP = 0.02;

/**
 * The study with what a fit of logs found in place of its own values: capacity, start SOC of the first log, resistances, slow branch and
 * open-circuit curve of each cell, with their standard uncertainties. The curve reaches as far as the logs went.
 */
export function fittedStudy(
  description: ChargeStudyDescription,
  cells: readonly CellToFit[],
  { problem }: PreparedLogs,
  fit: LogFit,
): ChargeStudyDescription {
  return {
    ...description,
    cells: description.cells.map((cell, k) => {
      const own = fit.estimates.filter((estimate) => estimate.cell === k);
      const visited = problem.logs.flatMap(({ settled }, l) => {
        const soc = problem.socs(fit.values, l, k);
        return [...settled].map((row) => soc[row]);
      });
      const range = { low: Math.min(...visited), high: Math.max(...visited) };
      return { ...cell, ...fittedCell(cell, cells[k], own, range) };
    }),
    notes: [
      ...(description.notes ?? []),
      ...fit.estimates
        .filter(({ reason }) => reason === 'held-at-study')
        .map(({ quantity, cell }) => ({
          code: 'held-at-study',
          message: `${description.cells[cell ?? 0].name}: the logs do not determine ${HELD[quantity] ?? quantity}; the fitted study keeps what the study states.`,
        })),
    ].slice(0, 100),
  };
}

const HELD: Partial<Record<LogQuantity, string>> = {
  r0Factor: 'R0',
  branchFactor: 'the RC branches',
  slowOhm: 'a slow branch',
  slowTauS: 'the time constant of a slow branch',
};

function fittedCell(
  description: ChargeCellDescription,
  { cell, knots }: CellToFit,
  own: readonly LogEstimate[],
  range: { readonly low: number; readonly high: number },
): Partial<ChargeCellDescription> {
  const found = (quantity: LogQuantity) => own.find((estimate) => estimate.quantity === quantity);
  const value = (quantity: LogQuantity, otherwise: number): number => found(quantity)?.value ?? otherwise;
  const relative = (quantity: LogQuantity): number | undefined => {
    const estimate = found(quantity);
    return estimate?.standardError == null ? undefined : estimate.standardError / estimate.value;
  };
  const corrections = own.filter(({ quantity }) => quantity === 'ocvKnotV');
  const soc = fittedGrid(cell.model.soc, knots?.soc ?? [], range);
  const temperatures = cell.model.temperatureC;
  const out = new Float64Array(cell.stride);
  const table = (read: (at: number) => number): number[][] =>
    soc.map((at) =>
      [...temperatures].map((t) => {
        cell.evaluate(at, t, cell.socStretch(at), cell.temperatureStretch(t), out, 0);
        return read(at);
      }),
    );
  const correction = (at: number): number => {
    let sum = 0;
    if (knots !== null)
      forKnots(knots.soc, at, (knot, weight) => {
        sum += weight * (corrections[knot]?.value ?? 0);
      });
    return sum;
  };
  const [r0, branch] = [value('r0Factor', 1), value('branchFactor', 1)];
  const slowOhm = value('slowOhm', 0);
  const start = own.find(({ quantity, log }) => quantity === 'startSoc' && log === 0);
  const atBase = arrheniusOf(description);
  return {
    capacityAh: value('capacityAh', description.capacityAh),
    soc: [...soc],
    ocvV: table((at) => out[OCV] + correction(at)),
    r0Ohm: table(() => out[R0]).map((row) => row.map((ohm, t) => (r0 * ohm) / atBase(temperatures[t], 'r0'))),
    branches: [
      ...description.branches.map((_, j) => ({
        rOhm: table(() => out[BRANCH + 2 * j] / out[BRANCH + 2 * j + 1]).map((row) =>
          row.map((ohm, t) => (branch * ohm) / atBase(temperatures[t], 'branches')),
        ),
        tauS: table(() => 1 / out[BRANCH + 2 * j + 1]),
      })),
      ...(slowOhm > 0 ? [{ rOhm: slowOhm, tauS: value('slowTauS', 1) }] : []),
    ],
    ...(description.entropicVPerK === undefined ? {} : { entropicVPerK: table(() => out[ENTROPIC]) }),
    startSoc: Math.min(1, Math.max(0, start?.value ?? description.startSoc)),
    uncertainty: {
      ...description.uncertainty,
      ...stated({
        capacityRelative: relative('capacityAh'),
        r0Relative: relative('r0Factor'),
        branchRelative: relative('branchFactor'),
        startSoc: start?.standardError ?? undefined,
      }),
    },
  };
}

function stated(values: Record<string, number | undefined>): Record<string, number> {
  return Object.fromEntries(
    Object.entries(values).filter((entry): entry is [string, number] => entry[1] !== undefined),
  );
}

/** Factor that a table's own law of temperature puts on its values at a temperature; the law stays in the study. */
function arrheniusOf({ arrhenius }: ChargeCellDescription): (tC: number, of: 'r0' | 'branches') => number {
  return (tC, of) => {
    if (arrhenius === undefined || (of === 'branches' && !arrhenius.branchesToo)) return 1;
    const { activationEnergyJPerMol, referenceTemperatureC } = arrhenius;
    const kelvin = (c: number): number => 1 / (c + ZERO_CELSIUS_K);
    return Math.exp((activationEnergyJPerMol / GAS_CONSTANT) * (kelvin(tC) - kelvin(referenceTemperatureC)));
  };
}

/** Points of the study's own grid, of the corrections that the logs reached, and the ends of what they reached. */
function fittedGrid(
  grid: Float64Array,
  knots: readonly number[],
  range: { readonly low: number; readonly high: number },
): number[] {
  const [first, last] = [grid[0], grid[grid.length - 1]];
  const reached = knots.filter(
    (soc) => (soc >= first && soc <= last) || (soc >= range.low && soc <= range.high),
  );
  const ends = [range.low < first ? [range.low] : [], range.high > last ? [range.high] : []].flat();
  if (knots.length === 0) return [...grid];
  const all = [...grid, ...reached, ...ends].sort((a, b) => a - b);
  const points = all.filter((soc, k) => k === 0 || soc - all[k - 1] > SAME_SOC);
  return points.flatMap((soc, k) => {
    if (k === 0) return [soc];
    const parts = Math.ceil((soc - points[k - 1]) / LARGEST_STEP);
    return Array.from({ length: parts }, (_, i) => points[k - 1] + ((soc - points[k - 1]) * (i + 1)) / parts);
  });
}
