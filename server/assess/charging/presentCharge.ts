import type { ChargeSetup, OperatingPoint, SimulatedCharge } from '../../../fitting/charging/index.ts';
import type { ChargeOperatingPoint, SimulatedChargeResult } from '../../contract/chargeStudyResult.ts';

/** Key of a SOC in the maps of times: "0.5", "0.8", "1". */
export function timeKey(soc: number): string {
  return String(soc);
}

/** A simulated charge in the names of the contract. */
export function presentCharge(
  charge: SimulatedCharge,
  setup: ChargeSetup,
  names: readonly string[],
): SimulatedChargeResult {
  const { timesS, timesMissing } = presentTimes(charge, setup);
  const socs = charge.cells.map((cell) => cell.endSoc);
  const { series } = charge;
  return {
    phases: charge.phases.map((phase) => ({ ...phase })),
    timesS,
    timesMissing,
    endTimeS: charge.endTimeS,
    endReason: charge.endReason,
    cells: charge.cells.map(({ temperatureOutsideTable, socOutsideTable, ...cell }, k) => ({
      name: names[k],
      ...cell,
      extrapolated: [
        ...(temperatureOutsideTable ? (['temperature-outside-table'] as const) : []),
        ...(socOutsideTable ? (['soc-outside-table'] as const) : []),
      ],
    })),
    endSocSpread: Math.max(...socs) - Math.min(...socs),
    energy: { ...charge.energy },
    limits: charge.limits.map((stretch) => ({ ...stretch })),
    operatingPoints: charge.operatingPoints.map(presentPoint),
    series:
      series === null
        ? null
        : {
            timeS: series.timeS,
            currentA: series.currentA,
            stackVoltageV: series.stackVoltageV,
            busVoltageV: series.busVoltageV,
            busCurrentA: series.busCurrentA,
            busSetVoltageV: series.busSetVoltageV,
            power: { ...series.power },
            cells: series.cells.map(({ voltageV, currentA, soc, temperatureC }) => ({
              voltageV,
              currentA,
              soc,
              temperatureC,
            })),
          },
    solver: {
      steps: charge.steps,
      rejected: charge.rejected,
      toleranceV: setup.tolerance.voltageV,
      toleranceK: setup.tolerance.temperatureK,
    },
  };
}

function presentPoint({ power, pathCurrentsA, ...point }: OperatingPoint): ChargeOperatingPoint {
  const { sourceW, storedW, cellLossW, bypassLossW } = power;
  const share = (value: number) => (sourceW > 0 ? value / sourceW : null);
  return {
    ...point,
    ...power,
    pathCurrentsA: pathCurrentsA === null ? null : [...pathCurrentsA],
    deliveredEfficiency: share(storedW + cellLossW + bypassLossW),
    efficiency: share(storedW),
  };
}

function presentTimes(
  charge: SimulatedCharge,
  setup: ChargeSetup,
): Pick<SimulatedChargeResult, 'timesS' | 'timesMissing'> {
  const timesS: SimulatedChargeResult['timesS'] = {};
  const timesMissing: SimulatedChargeResult['timesMissing'] = {};
  const lowestStart = Math.min(...setup.cells.map((cell) => cell.startSoc));
  setup.timesAtSoc.forEach((soc, s) => {
    const key = timeKey(soc);
    const already = lowestStart >= soc;
    timesS[key] = already ? null : charge.timesS[s];
    if (already) timesMissing[key] = 'already-above-at-start';
    else if (charge.timesS[s] === null) timesMissing[key] = 'not-reached';
  });
  return { timesS, timesMissing };
}
