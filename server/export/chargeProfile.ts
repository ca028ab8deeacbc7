import type { ChargeStudyDescription } from '../contract/chargeStudy.ts';
import type { ChargeStudyResult } from '../contract/chargeStudyResult.ts';
import { type CsvValue, csvText } from './csv.ts';
import { ExportRefused } from './refusal.ts';

type Series = NonNullable<ChargeStudyResult['series']>;

/**
 * The planned charge as CSV: against time, or against the state of charge of the least charged cell in steps of 1 %.
 * Columns: `time_s`, `soc`, bus voltage and current (empty where no source is described), stack voltage and current,
 * and for each cell its voltage limit, voltage, current, temperature and state of charge.
 *
 * @throws ExportRefused where the study holds no series.
 */
export function chargeProfile(
  description: ChargeStudyDescription,
  result: ChargeStudyResult,
  against: 'time' | 'soc' = 'time',
): string {
  const { series } = result;
  if (series === null || series.timeS.length < 2)
    throw new ExportRefused(
      'no-series',
      `charge study "${result.name ?? ''}": series`,
      null,
      'run the study with seriesStepS, the seconds between the rows',
    );
  const leastSoc = series.timeS.map((_, row) => Math.min(...series.cells.map((cell) => cell.soc[row])));
  const header = ['time_s', 'soc', 'bus_voltage_V', 'bus_current_A', 'stack_voltage_V', 'stack_current_A'];
  series.cells.forEach((_, i) => {
    const cell = `cell_${i + 1}`;
    header.push(
      `${cell}_voltage_limit_V`,
      `${cell}_voltage_V`,
      `${cell}_current_A`,
      `${cell}_temperature_C`,
      `${cell}_soc`,
    );
  });
  const rows = against === 'time' ? series.timeS.map((_, row) => row) : rowsBySoc(leastSoc);
  return csvText(
    header,
    rows.map((row) => profileRow(description, series, leastSoc, row)),
  );
}

/** Row positions (with fractions) at which the least SOC first passes each whole percent, and the two ends. */
function rowsBySoc(soc: readonly number[]): number[] {
  const positions = [0];
  let next = Math.floor(soc[0] * 100 + 1e-9) + 1;
  for (let row = 1; row < soc.length; row++) {
    while (soc[row] * 100 >= next && soc[row] > soc[row - 1]) {
      positions.push(row - 1 + (next / 100 - soc[row - 1]) / (soc[row] - soc[row - 1]));
      next++;
    }
  }
  if (positions[positions.length - 1] < soc.length - 1) positions.push(soc.length - 1);
  return positions;
}

function profileRow(
  description: ChargeStudyDescription,
  series: Series,
  leastSoc: readonly number[],
  position: number,
): CsvValue[] {
  const at = (column: readonly number[]) => {
    const row = Math.min(Math.floor(position), column.length - 1);
    const part = position - row;
    return part === 0 ? column[row] : column[row] + part * (column[row + 1] - column[row]);
  };
  const row: CsvValue[] = [
    at(series.timeS),
    at(leastSoc),
    series.busVoltageV === null ? null : at(series.busVoltageV),
    series.busCurrentA === null ? null : at(series.busCurrentA),
    at(series.stackVoltageV),
    at(series.currentA),
  ];
  series.cells.forEach((cell, i) => {
    const temperatureC = at(cell.temperatureC);
    row.push(
      cellLimitV(description, i, temperatureC),
      at(cell.voltageV),
      at(cell.currentA),
      temperatureC,
      at(cell.soc),
    );
  });
  return row;
}

/** The lowest of the datasheet's limit, the stack's limit for a cell, and that of the temperature zone. */
function cellLimitV(description: ChargeStudyDescription, cell: number, temperatureC: number): number {
  const zone = description.temperatureZones?.find((z) => temperatureC >= z.fromC && temperatureC <= z.toC);
  return Math.min(
    description.cells[cell].datasheet.maxVoltageV,
    description.stack.cellVoltageLimitV ?? Number.POSITIVE_INFINITY,
    zone?.maxCellVoltageV ?? Number.POSITIVE_INFINITY,
  );
}
