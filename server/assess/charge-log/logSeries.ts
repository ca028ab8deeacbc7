import type { ChargeLog, LogFit, PreparedLogs } from '../../../fitting/charge-log/index.ts';
import { drivenTemperatureC } from '../../../fitting/charge-log/index.ts';
import type { CompiledCell } from '../../../fitting/charging/index.ts';
import type { ChargeLogResult } from '../../contract/chargeLogResult.ts';
import type { LogSupply } from './logSupply.ts';

const SERIES_ROWS = 400;

/** What is drawn of one log. */
export interface DrawnLog {
  readonly log: ChargeLog;
  /** Its place among the logs prepared. */
  readonly place: number;
  readonly cells: readonly CompiledCell[];
  readonly names: readonly string[];
  readonly supply: LogSupply;
}

/** Measured columns of a log beside those that its current drives in the study's cells, thinned alike. */
export function seriesOf(
  { log, place, cells, names, supply }: DrawnLog,
  { problem, start }: PreparedLogs,
  fit: LogFit | null,
): ChargeLogResult['series'] {
  const { timeS, currentA, voltageV, temperatureC } = problem.logs[place];
  const stride = Math.max(1, Math.ceil(timeS.length / SERIES_ROWS));
  const thin = (values: Float64Array): number[] => [...values].filter((_, row) => row % stride === 0);
  const at = onRows(log, timeS);
  const computed = names.map((_, k) => problem.voltages(start, place, k));
  const stackV = currentA.map((current, row) =>
    computed.reduce((sum, values) => sum + values[row], supply.stackOhm * current),
  );
  const pair = (measured: Float64Array | null, model: Float64Array | null) =>
    measured === null
      ? null
      : { measured: thin(at(measured)), computed: model === null ? null : thin(model) };
  const { converter } = supply;
  return {
    timeS: thin(timeS),
    currentA: thin(currentA),
    stackVoltageV: pair(log.stackVoltageV, stackV),
    busVoltageV: pair(
      log.bus?.voltageV ?? null,
      converter && currentA.map((current, row) => converter.inputVoltage(current, stackV[row])),
    ),
    busCurrentA: pair(
      log.bus?.currentA ?? null,
      converter && currentA.map((current) => (current > supply.offA ? converter.inputCurrent(current) : 0)),
    ),
    cells: names.map((name, k) => {
      const soc = problem.socs(start, place, k);
      const measuredC = temperatureC[k];
      const modelC =
        measuredC &&
        drivenTemperatureC(
          cells[k],
          { timeS, currentA, voltageV: computed[k], soc },
          log.ambientTemperatureC,
          measuredC[0],
        );
      return {
        name,
        soc: thin(soc),
        measuredV: thin(voltageV[k]),
        computedV: thin(computed[k]),
        fittedV: fit === null ? null : thin(problem.voltages(fit.values, place, k)),
        measuredC: measuredC === null ? null : thin(measuredC),
        computedC: modelC === null ? null : thin(modelC),
      };
    }),
  };
}

/** Brings a column of the log onto other times by straight lines. */
function onRows({ timeS }: ChargeLog, timesS: Float64Array): (values: Float64Array) => Float64Array {
  return (values) => {
    let row = 0;
    return timesS.map((t) => {
      while (row < timeS.length - 2 && timeS[row + 1] < t) row += 1;
      const share = Math.min(1, Math.max(0, (t - timeS[row]) / (timeS[row + 1] - timeS[row])));
      return values[row] + share * (values[row + 1] - values[row]);
    });
  };
}
