import type { EndReason } from './chargeBinding.ts';
import type { ChargeObserver, ChargeSeries } from './chargeObserver.ts';
import type { ChargedCell } from './chargeSetup.ts';
import type { ChargePhase, LimitStretch } from './chargeTimeline.ts';
import type { ChargeEnergy } from './energyLedger.ts';
import type { OperatingPoint } from './operatingPoints.ts';
import type { StackState } from './stackState.ts';

export interface ChargedCellResult {
  readonly startSoc: number;
  readonly endSoc: number;
  readonly endVoltageV: number;
  readonly peakVoltageV: number;
  readonly peakVoltageTimeS: number;
  readonly endTemperatureC: number;
  readonly peakTemperatureC: number;
  /** Peak voltage above the datasheet's limit, 0 where it is not above. */
  readonly overvoltageV: number;
  readonly overvoltageDurationS: number;
  readonly bypassChargeAh: number;
  readonly temperatureOutsideTable: boolean;
  readonly socOutsideTable: boolean;
}

/** A computed charge. Times in seconds from its start. */
export interface SimulatedCharge {
  readonly phases: readonly ChargePhase[];
  /** Time at which the last cell reached each SOC of `setup.timesAtSoc`, null where it did not; 0 where it was there at the start. */
  readonly timesS: readonly (number | null)[];
  /** End of the charge itself, before any rest. */
  readonly endTimeS: number;
  readonly endReason: EndReason;
  readonly cells: readonly ChargedCellResult[];
  readonly energy: ChargeEnergy;
  readonly limits: readonly LimitStretch[];
  readonly operatingPoints: readonly OperatingPoint[];
  readonly socAtVoltageLimit: number | null;
  readonly series: ChargeSeries | null;
  readonly steps: number;
  readonly rejected: number;
}

/** Where a cell stands when its charge ends. */
export type CellEnd = Pick<ChargedCellResult, 'endSoc' | 'endVoltageV' | 'endTemperatureC'>;

/** The state of each cell at the end of the charge; one that never began is described by its first node. */
export function cellEnds(state: StackState, began: boolean): CellEnd[] {
  return state.cells.map((_, k) => ({
    endSoc: state.soc[k],
    endVoltageV: state.nodeVoltageV[4 * k + (began ? 3 : 0)],
    endTemperatureC: state.temperatureC[k],
  }));
}

/** What is reported of a cell: where it ended, what was watched of it, and what its bypass took. */
export function cellResult(
  charged: ChargedCell,
  k: number,
  end: CellEnd,
  observer: ChargeObserver,
  bypassAs: number,
): ChargedCellResult {
  // A charge that never began has no peak but its start.
  const peakVoltageV = Math.max(observer.peakVoltageV[k], end.endVoltageV);
  const over = peakVoltageV - charged.datasheetVoltageV;
  return {
    startSoc: charged.startSoc,
    ...end,
    peakVoltageV,
    peakVoltageTimeS: observer.peakVoltageTimeS[k],
    peakTemperatureC: observer.peakTemperatureC[k],
    overvoltageV: over > 1e-7 ? over : 0,
    overvoltageDurationS: observer.overvoltageDurationS[k],
    bypassChargeAh: bypassAs / 3600,
    temperatureOutsideTable: observer.temperatureOutside[k],
    socOutsideTable: observer.socOutside[k],
  };
}
