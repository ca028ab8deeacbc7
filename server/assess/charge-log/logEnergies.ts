import type { ChargeLog, PreparedLogs } from '../../../fitting/charge-log/index.ts';
import { drivenHeatW } from '../../../fitting/charge-log/index.ts';
import type { CompiledCell, SimulatedCharge } from '../../../fitting/charging/index.ts';
import type { ChargeLogResult } from '../../contract/chargeLogResult.ts';
import type { LogSupply } from './logSupply.ts';

/** A log with the cells of the study along it. */
export interface LoggedEnergy {
  readonly log: ChargeLog;
  /** Its place among the logs prepared. */
  readonly place: number;
  readonly cells: readonly CompiledCell[];
  readonly charge: SimulatedCharge;
  readonly supply: LogSupply;
}

/**
 * Energies and losses, measured and computed. Losses of cable, converter and connections are computed from the study's resistances at
 * the measured currents; those of the cells from measured current and voltage over the open-circuit voltage at the counted SOC, and by
 * the computed charge.
 */
export function energiesOf(
  { log, place, cells, charge, supply }: LoggedEnergy,
  { problem, start }: PreparedLogs,
): ChargeLogResult['comparison']['energyWh'] {
  const { timeS, currentA, bus, sourceVoltageV } = log;
  const sumV = currentA.map((_, r) => log.cells.reduce((sum, cell) => sum + cell.voltageV[r], 0));
  const stackV = log.stackVoltageV ?? sumV;
  const over = (value: (row: number) => number): number =>
    integral(
      timeS,
      currentA.map((_, row) => value(row)),
    );
  const intoStack = over((r) => currentA[r] * stackV[r]);
  const fromBus = bus === null ? null : over((r) => bus.currentA[r] * bus.voltageV[r]);
  const cable =
    bus === null || sourceVoltageV === null
      ? null
      : over((r) => bus.currentA[r] * (sourceVoltageV[r] - bus.voltageV[r]));
  const { converter, cableOhm, stackOhm, offA } = supply;
  const condensed = problem.logs[place];
  const heats = cells.map((cell, k) =>
    integral(
      condensed.timeS,
      drivenHeatW(
        cell,
        {
          timeS: condensed.timeS,
          currentA: condensed.currentA,
          voltageV: condensed.voltageV[k],
          soc: problem.socs(start, place, k),
        },
        (row) => condensed.temperatureC[k]?.[row] ?? log.ambientTemperatureC,
      ),
    ),
  );
  return {
    intoStack: { measured: intoStack, computed: charge.energy.intoStackWh },
    fromBus,
    converterLoss: fromBus === null ? null : fromBus - intoStack,
    cableLoss: cable,
    losses: {
      cable: {
        measured: cable,
        computed: bus === null || cableOhm === null ? null : over((r) => cableOhm * bus.currentA[r] ** 2),
      },
      converter: {
        measured: fromBus === null ? null : fromBus - intoStack,
        computed:
          converter === null
            ? null
            : over((r) =>
                currentA[r] > offA
                  ? converter.inputVoltage(currentA[r], stackV[r]) * converter.inputCurrent(currentA[r]) -
                    currentA[r] * stackV[r]
                  : 0,
              ),
      },
      stackConnections: {
        measured: log.stackVoltageV === null ? null : over((r) => currentA[r] * (stackV[r] - sumV[r])),
        computed: over((r) => stackOhm * currentA[r] ** 2),
      },
      cells: { measured: heats.reduce((sum, heat) => sum + heat, 0), computed: charge.energy.cellLossWh },
    },
  };
}

/** ∫ values dt in value-hours, by trapezoids. */
export function integral(timeS: Float64Array, values: Float64Array): number {
  let sum = 0;
  for (let row = 1; row < timeS.length; row++)
    sum += ((timeS[row] - timeS[row - 1]) * (values[row] + values[row - 1])) / 2;
  return sum / 3600;
}
