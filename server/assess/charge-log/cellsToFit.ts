import type { CellQuantity, CellToFit } from '../../../fitting/charge-log/index.ts';
import { likelyStartSoc, ocvKnots } from '../../../fitting/charge-log/index.ts';
import type { CompiledCell } from '../../../fitting/charging/index.ts';
import type { ChargeLogQuantity } from '../../contract/chargeLogResult.ts';
import type { ChargeStudyDescription } from '../../contract/chargeStudy.ts';
import type { ChargeLogRequest, ComparedLog } from './evaluateChargeLogs.ts';
import { integral } from './logEnergies.ts';

const QUANTITIES: Record<ChargeLogQuantity, readonly CellQuantity[]> = {
  capacity: ['capacityAh'],
  'start-soc': ['startSoc'],
  r0: ['r0Factor'],
  branches: ['branchFactor'],
  'slow-branch': ['slowOhm', 'slowTauS'],
  // Of the temperatures, not of the voltages.
  heat: [],
};
/** Resistances change by about 1 % a kelvin near room temperature; common practice, no source. */
const RESISTANCE_PER_K = 0.01;
/** The start SOC of a log that begins under current is found within this; the curve is freed that far beyond. */
const SEARCH_MARGIN = 0.02;

/** The cells of a study as a fit of logs begins with them. */
export function cellsToFit(
  logs: readonly ComparedLog[],
  description: ChargeStudyDescription,
  request: ChargeLogRequest,
): CellToFit[] {
  const [{ computed }] = logs;
  return computed.setup.cells.map(({ cell }, k): CellToFit => {
    const startSoc = logs.map((each) => each.computed.startSocs[k].soc);
    const searchSoc = logs.map((each, l) => searchFrom(each, cell, k, request) ?? startSoc[l]);
    const { uncertainty } = description.cells[k];
    const statedV = request.ocvUncertaintyV ?? stated(uncertainty?.ocvV);
    return {
      cell,
      startSoc,
      searchSoc,
      free: request.fit.flatMap((quantity) => QUANTITIES[quantity]),
      slow: request.fit.includes('slow-branch') ? slowStart(description, k) : null,
      known: { r0Factor: stated(uncertainty?.r0Relative), branchFactor: stated(uncertainty?.branchRelative) },
      curveSpreadV: statedV ?? 0,
      warmingShare: warmingShare(logs, description, k),
      knots:
        request.fit.length === 0
          ? null
          : ocvKnots(cell, visitedBy(logs, searchSoc, cell), {
              askedV: request.ocvUncertaintyV ?? null,
              statedV: stated(uncertainty?.ocvV),
              temperatureC: logs[0].read.log.ambientTemperatureC,
              currentA: Math.max(
                ...logs.flatMap(({ conditions }) => conditions.stages.map((stage) => stage.currentA)),
              ),
            }),
    };
  });
}

/**
 * By how much the resistances of a study of one temperature may be off in logs in which the cell was warmer or colder, relative: the mean
 * of |T − T of the study| over the charge moved, at the usual change; 0 where no temperature was logged or the study follows it.
 */
function warmingShare(logs: readonly ComparedLog[], { cells }: ChargeStudyDescription, k: number): number {
  const { temperatureC, arrhenius } = cells[k];
  if (arrhenius !== undefined || (temperatureC?.length ?? 0) > 1) return 0;
  let [away, moved] = [0, 0];
  for (const { read } of logs) {
    const { timeS, currentA, cells: logged } = read.log;
    const measured = logged[k].temperatureC;
    if (measured === null) continue;
    const own = temperatureC?.[0] ?? measured[0];
    for (let row = 1; row < timeS.length; row++) {
      const charge = Math.abs(currentA[row]) * (timeS[row] - timeS[row - 1]);
      moved += charge;
      away += charge * Math.abs(measured[row] - own);
    }
  }
  return moved === 0 ? 0 : (RESISTANCE_PER_K * away) / moved;
}

const stated = (value: number | undefined): number | null =>
  value === undefined || value === 0 ? null : value;

/** Where the search begins for a start SOC that no rest before the charge shows; null where it is known or not asked. */
function searchFrom(
  { read, conditions }: ComparedLog,
  cell: CompiledCell,
  k: number,
  request: ChargeLogRequest,
): number | null {
  if (conditions.beginsAtRest || !request.fit.includes('start-soc')) return null;
  return likelyStartSoc(read.log, cell, k, request.fromS ?? 0);
}

function visitedBy(
  logs: readonly ComparedLog[],
  startSoc: readonly number[],
  cell: CompiledCell,
): { low: number; high: number } {
  const ends = logs.map(
    ({ read }, l) => startSoc[l] + integral(read.log.timeS, read.log.currentA) / cell.model.capacityAh,
  );
  const margin = logs.some(({ conditions }) => !conditions.beginsAtRest) ? SEARCH_MARGIN : 0;
  return { low: Math.min(...startSoc) - margin, high: Math.max(...ends) + margin };
}

function slowStart(description: ChargeStudyDescription, k: number): { ohm: number; tauS: number } {
  const { r0Ohm } = description.cells[k];
  const first = Array.isArray(r0Ohm) ? [r0Ohm].flat(2)[0] : r0Ohm;
  return { ohm: 0.5 * first, tauS: 600 };
}
