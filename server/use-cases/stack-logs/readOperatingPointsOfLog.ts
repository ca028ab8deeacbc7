import { pointsOfLog } from '../../../fitting/charging/index.ts';
import {
  USUAL_CURRENT_OFFSET_SHARE,
  USUAL_VOLTAGE_OFFSET_V,
} from '../../assess/charge-log/evaluateChargeLogs.ts';
import type { Context } from '../../context.ts';
import type { OperatingPointList } from '../../contract/supplyParts.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { readStackLogValues } from '../../store/stackLogs.ts';
import { readStackLog } from './readStackLog.ts';

/**
 * Operating points of the converter that a stored log was charged through: means of its rows at nearly one output current. The output
 * is where the stack voltage was sensed; where it was not logged, the sum of the cell voltages.
 *
 * @throws Refusal `not-found`; `not-evaluable` where the log has no input side, or one current only
 */
export async function readOperatingPointsOfLog(context: Context, id: number): Promise<OperatingPointList> {
  const log = await readStackLog(context, id);
  const values = await readStackLogValues(context.store, log);
  const of = (role: string): Float64Array => {
    const found = values.get(role);
    if (found !== undefined) return found;
    throw new Refusal('not-evaluable', 'The log has no operating points of a converter.', [
      fieldError(role, null, 'was not logged', 'a log with voltage and current at the converter’s input'),
    ]);
  };
  const cells = log.cells.map((_, k) => of(`cell-voltage-${k + 1}`));
  const sum = (): Float64Array =>
    cells[0].map((_, row) => cells.reduce((total, values) => total + values[row], 0));
  const points = pointsOfLog({
    outputVoltageV: values.get('stack-voltage') ?? sum(),
    outputCurrentA: of('stack-current'),
    inputVoltageV: of('bus-voltage'),
    inputCurrentA: of('bus-current'),
    temperatureC: values.get('converter-temperature') ?? null,
  });
  if (points.length < 2)
    throw new Refusal('not-evaluable', 'The log has no two operating points of a converter.', [
      fieldError('stack-current', null, 'hardly changes', 'a charge whose current steps down or tapers'),
    ]);
  return {
    points: points.map(({ rows: _, temperatureC, ...point }) => ({
      ...point,
      ...(temperatureC === null ? {} : { temperatureC }),
    })),
    columns: [],
    unused: [],
    meters: {
      voltageOffsetV: USUAL_VOLTAGE_OFFSET_V,
      currentOffsetA: USUAL_CURRENT_OFFSET_SHARE * points[points.length - 1].outputCurrentA,
    },
  };
}
