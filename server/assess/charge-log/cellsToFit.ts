import { likelyStartSoc } from '../../../fitting/charge-log/likelyStartSoc.ts';
import type { CellQuantity, CellToFit } from '../../../fitting/charge-log/logParameters.ts';
import { ocvKnots } from '../../../fitting/charge-log/ocvKnots.ts';
import type { CompiledCell } from '../../../fitting/charging/cellModel.ts';
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
    return {
      cell,
      startSoc,
      searchSoc,
      free: request.fit.flatMap((quantity) => QUANTITIES[quantity]),
      slow: request.fit.includes('slow-branch') ? slowStart(description, k) : null,
      known: { r0Factor: stated(uncertainty?.r0Relative), branchFactor: stated(uncertainty?.branchRelative) },
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
