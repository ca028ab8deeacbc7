import type { ChargeLog } from '../../../fitting/charge-log/chargeLog.ts';
import { mainDeviation } from '../../../fitting/charge-log/deviation.ts';
import {
  type PreparedLogs,
  type ResidualSummary,
  residualsOf,
  summarise,
} from '../../../fitting/charge-log/fitChargeLog.ts';
import type { SimulatedCharge } from '../../../fitting/charging/simulatedCharge.ts';
import type { ChargeLogResult } from '../../contract/chargeLogResult.ts';
import type { ComputedCharge } from './computeLikeLog.ts';
import type { LogConditions } from './logConditions.ts';

/** Residuals by cell, times, charge and energies, measured beside computed. */
export function compareWithComputed(
  log: ChargeLog,
  conditions: LogConditions,
  computed: ComputedCharge,
  prepared: PreparedLogs,
  names: readonly string[],
): Omit<ChargeLogResult['comparison'], 'verdict'> {
  const { problem, start, noise } = prepared;
  const summaries = summarise(problem, start);
  const { charge } = computed;
  return {
    cells: summaries.map((summary) => {
      const { settled, timeS } = problem.logs[0];
      const soc = problem.socs(start, 0, summary.cell);
      const deviation = mainDeviation(
        Float64Array.from(settled, (row) => timeS[row]),
        Float64Array.from(settled, (row) => soc[row]),
        residualsOf(problem, start, 0, summary.cell),
        Math.max(0.003, 2 * Math.sqrt(noise[0][summary.cell])),
      );
      return { ...presentResiduals(summary, names), deviation };
    }),
    timesS: timesOf(log, conditions, computed),
    chargeAh: {
      measured: integral(log.timeS, log.currentA),
      computed: charge.energy.intoStackWh > 0 ? computed.chargeAh : null,
    },
    energyWh: energies(log, charge),
  };
}

function energies(log: ChargeLog, charge: SimulatedCharge): ChargeLogResult['comparison']['energyWh'] {
  const { timeS, currentA, cells, stackVoltageV, bus, sourceVoltageV } = log;
  const power = currentA.map(
    (current, r) => current * (stackVoltageV?.[r] ?? cells.reduce((sum, cell) => sum + cell.voltageV[r], 0)),
  );
  const intoStack = integral(timeS, power);
  const fromBus =
    bus === null
      ? null
      : integral(
          timeS,
          bus.currentA.map((current, r) => current * bus.voltageV[r]),
        );
  const cable =
    bus === null || sourceVoltageV === null
      ? null
      : integral(
          timeS,
          bus.currentA.map((current, r) => current * (sourceVoltageV[r] - bus.voltageV[r])),
        );
  return {
    intoStack: { measured: intoStack, computed: charge.energy.intoStackWh },
    fromBus,
    converterLoss: fromBus === null ? null : fromBus - intoStack,
    cableLoss: cable,
  };
}

/** ∫ values dt in value-hours, by trapezoids. */
function integral(timeS: Float64Array, values: Float64Array): number {
  let sum = 0;
  for (let row = 1; row < timeS.length; row++)
    sum += ((timeS[row] - timeS[row - 1]) * (values[row] + values[row - 1])) / 2;
  return sum / 3600;
}

function timesOf(
  log: ChargeLog,
  conditions: LogConditions,
  { charge, setup, startSocs, socs }: ComputedCharge,
): ChargeLogResult['comparison']['timesS'] {
  const { timeS, currentA } = log;
  const begin = timeS[conditions.firstRow];
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
      if (reached[s] === null && slowest >= soc) reached[s] = timeS[row] - begin;
    });
  }
  setup.timesAtSoc.forEach((soc, s) => {
    if (Math.min(...startSocs.map((at) => at.soc)) < soc)
      atSoc[String(socs[s])] = { measured: reached[s], computed: charge.timesS[s] };
  });
  return {
    toVoltageLimit: {
      measured: conditions.taper === null ? null : timeS[conditions.taper.row] - begin,
      computed: taper?.startTimeS ?? null,
    },
    end: {
      measured: conditions.taper === null ? null : timeS[conditions.lastRow] - begin,
      computed: charge.endReason === 'end-current' ? charge.endTimeS : null,
    },
    atSoc,
  };
}

/** Residuals of one cell under its name. */
export function presentResiduals(summary: ResidualSummary, names: readonly string[]) {
  const { cell, rows, biasV, rmsV, largestV, largestTimeS } = summary;
  return { cell: names[cell], rows, biasV, rmsV, largestV, largestTimeS };
}
