import type { ChargeLog } from '../../../fitting/charge-log/index.ts';
import {
  mainDeviation,
  type PreparedLogs,
  type ResidualSummary,
  residualsOf,
  summarise,
} from '../../../fitting/charge-log/index.ts';
import type { ChargeLogResult } from '../../contract/chargeLogResult.ts';
import type { ComputedCharge } from './computeLikeLog.ts';
import type { LogConditions } from './logConditions.ts';
import { energiesOf, integral } from './logEnergies.ts';
import type { LogSupply } from './logSupply.ts';

/** One log with its computed charge. */
export interface LogBesideStudy {
  readonly log: ChargeLog;
  /** Its place among the logs prepared. */
  readonly place: number;
  readonly conditions: LogConditions;
  readonly computed: ComputedCharge;
  readonly supply: LogSupply;
  readonly names: readonly string[];
}

/** Residuals by cell, times, charge and energies of one log, measured beside computed. */
export function compareWithComputed(
  { log, place, conditions, computed, supply, names }: LogBesideStudy,
  prepared: PreparedLogs,
): Omit<ChargeLogResult['comparison'], 'verdict'> {
  const { problem, start, noise } = prepared;
  const summaries = summarise(problem, start).filter((summary) => summary.log === place);
  const { charge, setup } = computed;
  const cells = setup.cells.map(({ cell }) => cell);
  return {
    cells: summaries.map((summary) => {
      const { settled, timeS } = problem.logs[place];
      const soc = problem.socs(start, place, summary.cell);
      const deviation = mainDeviation(
        Float64Array.from(settled, (row) => timeS[row]),
        Float64Array.from(settled, (row) => soc[row]),
        residualsOf(problem, start, place, summary.cell),
        Math.max(0.003, 2 * Math.sqrt(noise[place][summary.cell])),
      );
      return { ...presentResiduals(summary, names), deviation };
    }),
    timesS: timesOf(log, conditions, computed),
    chargeAh: {
      measured: integral(log.timeS, log.currentA),
      computed: charge.energy.intoStackWh > 0 ? computed.chargeAh : null,
    },
    energyWh: energiesOf({ log, place, cells, charge, supply }, prepared),
  };
}

function timesOf(
  log: ChargeLog,
  conditions: LogConditions,
  { charge, setup, startSocs }: ComputedCharge,
): ChargeLogResult['comparison']['timesS'] {
  const { timeS, currentA } = log;
  const since = (row: number): number => timeS[row] - timeS[conditions.firstRow] - conditions.pausedS[row];
  const taper = charge.phases.find((phase) => phase.kind === 'constant-voltage');
  const atSoc: ChargeLogResult['comparison']['timesS']['atSoc'] = {};
  const reached = setup.timesAtSoc.map(() => null as number | null);
  let moved = 0;
  for (let row = 1; row < timeS.length; row++) {
    moved += ((timeS[row] - timeS[row - 1]) * (currentA[row] + currentA[row - 1])) / 7200;
    const slowest = Math.min(
      ...setup.cells.map(({ cell }, k) => startSocs[k].soc + moved / cell.model.capacityAh),
    );
    setup.timesAtSoc.forEach((soc, s) => {
      if (reached[s] === null && slowest >= soc) reached[s] = since(row);
    });
  }
  setup.timesAtSoc.forEach((soc, s) => {
    if (Math.min(...startSocs.map((at) => at.soc)) < soc)
      atSoc[String(soc)] = { measured: reached[s], computed: charge.timesS[s] };
  });
  return {
    toVoltageLimit: {
      measured: conditions.taper === null ? null : since(conditions.taper.row),
      computed: taper?.startTimeS ?? null,
    },
    end: {
      measured: conditions.taper === null ? null : since(conditions.lastRow),
      computed: charge.endReason === 'end-current' ? charge.endTimeS : null,
    },
    atSoc,
  };
}

/** Residuals of one cell under its name. */
export function presentResiduals(summary: ResidualSummary, names: readonly string[]) {
  const { cell, log, rows, biasV, rmsV, largestV, largestTimeS } = summary;
  return { cell: names[cell], log, rows, biasV, rmsV, largestV, largestTimeS };
}
