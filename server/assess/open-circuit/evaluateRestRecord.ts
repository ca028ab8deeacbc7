import { restDrift } from '../../../fitting/open-circuit/index.ts';
import { columnResolution, findRecordIssue, type RecordColumns } from '../../../fitting/records/index.ts';
import { mean } from '../../../fitting/statistics/index.ts';
import type { RestResult } from '../../contract/tests.ts';

/** Version of the evaluation: a change of any number it gives is a new version. */
export const REST_VERSION = '1.5.0';

/** A cell is at rest below this share of its largest current, or below 1 mA where there is hardly any. */
const REST_CURRENT_A = 0.001;

/**
 * Open-circuit voltage at the end of a rest record and its drift in mV a day (K value).
 *
 * @throws RangeError naming column, row and value where the record is unfit or current flows in it
 */
export function evaluateRestRecord(record: RecordColumns): RestResult {
  const issue = findRecordIssue(record);
  if (issue) throw new RangeError(`${issue.column}, row ${issue.index}, value ${issue.value}: ${issue.code}`);
  const { timeS, voltageV, currentA, temperatureC } = record;
  const flowing = currentA.findIndex((value) => Math.abs(value) > REST_CURRENT_A);
  if (flowing >= 0) {
    throw new RangeError(
      `currentA[${flowing}] is ${currentA[flowing]} A; a rest record has none above ${REST_CURRENT_A} A. Import it as another kind of test`,
    );
  }
  const drift = restDrift(timeS, voltageV, {
    resolutionV: columnResolution(voltageV),
    temperatureC,
  });
  return {
    schemaVersion: 1,
    algorithm: { name: 'rest', version: REST_VERSION },
    rows: timeS.length,
    durationS: timeS[timeS.length - 1] - timeS[0],
    lastVoltageV: voltageV[voltageV.length - 1],
    usedFromS: drift.usedFromS === null ? null : drift.usedFromS - timeS[0],
    driftMvPerDay: drift.driftMvPerDay,
    driftStandardUncertaintyMvPerDay: drift.standardUncertaintyMvPerDay,
    reason: drift.reason,
    assumes: drift.assumesRoom ? 'room-temperature-assumed' : null,
    temperatureMeanC: temperatureC ? mean(temperatureC) : null,
  };
}
