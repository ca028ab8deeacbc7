import { monotoneCurve } from '../../fitting/numeric/monotoneCurve.ts';
import { studyCharge } from '../../server/assess/charging/studyCharge.ts';
import type { Context } from '../../server/context.ts';
import { chargeQuestions } from '../../server/contract/chargeStudy.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { draftChargeStudy } from '../../server/use-cases/charging/draftChargeStudy.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { selectOne } from '../support/sql.ts';

export interface HeatRecordOptions {
  readonly heatCapacityJPerK: number;
  readonly heatTransferWPerK: number;
  /** Column of the temperature, left out where false. */
  readonly temperature?: boolean;
  /** Default 25 °C, as the surroundings. */
  readonly startTemperatureC?: number;
  readonly restAfterS?: number;
  /** Charge current in C. */
  readonly rateC?: number;
}

/** Time, voltage, current and temperature of a rest, a charge and a rest of a stored cell, computed from its fits. */
export async function heatRecordFile(
  context: Context,
  cellId: number,
  options: HeatRecordOptions,
): Promise<string> {
  const { description } = await draftChargeStudy(context, { cellIds: [cellId] });
  const { heatCapacityJPerK, heatTransferWPerK, temperature = true, rateC = 1 } = options;
  const { startTemperatureC = 25, restAfterS = 1800 } = options;
  const thermal = { heatCapacityJPerK, heatTransferWPerK, basis: 'entered' as const };
  const { series } = studyCharge({
    ...description,
    cells: description.cells.map((cell) => ({ ...cell, startSoc: 0.2, startTemperatureC, thermal })),
    phases: { ...description.phases, stages: [{ rateC }], restAfterS },
    questions: chargeQuestions.parse({ seriesStepS: 5 }),
  });
  if (series === null) throw new Error('no series');
  const [cell] = series.cells;
  // The cell rests first, at its OCV; both sides of the step at 300 s are written, as instruments do.
  const ocvV = startOcv(description.cells[0]);
  const rows: [number, number, number, number][] = Array.from({ length: 61 }, (_, k) => [
    5 * k,
    ocvV,
    0,
    // Cooling towards the surroundings, so that the charge begins at the start temperature.
    25 + (startTemperatureC - 25) * Math.exp((heatTransferWPerK * (300 - 5 * k)) / heatCapacityJPerK),
  ]);
  series.timeS.forEach((t, k) => {
    rows.push([t + 300, cell.voltageV[k], cell.currentA[k], cell.temperatureC[k]]);
  });
  const columns = temperature ? 4 : 3;
  const header = ['time_s', 'voltage_V', 'current_A', 'temperature_C'].slice(0, columns).join(',');
  return `${header}\n${rows.map((row) => row.slice(0, columns).join(',')).join('\n')}\n`;
}

/** OCV at SOC 0.2, as the simulation reads it: the curve of a few rests by a monotone cubic. */
function startOcv(cell: { soc: number[]; ocvV: unknown; ocvInterpolation: string }): number {
  if (cell.ocvInterpolation !== 'pchip') throw new Error('the curve is read otherwise than here');
  return monotoneCurve(cell.soc, cell.ocvV as number[]).at(0.2);
}

/** Imports such a record as a capacity test of the cell with this serial; returns the test's identifier. */
export async function importHeatFile(
  context: Context,
  lotName: string,
  serial: string,
  text: string,
): Promise<number> {
  const file = {
    name: `${serial} charge ${text.length}.csv`,
    open: () => Promise.resolve(bufferSource(Buffer.from(text))),
    rereadable: true,
  };
  const options = { lot: lotName, cell: serial, testKind: 'capacity' as const, kind: 'record' as const };
  const report = await importFile(context, file, options, 'batch');
  const row = await selectOne<{ id: number }>(context.store, 'SELECT MAX(id) AS id FROM Test');
  if (report.state !== 'taken' || row === undefined) throw new Error(JSON.stringify(report));
  return row.id;
}
