import { type Context, inTransaction, nowText } from '../../context.ts';
import type { CellTypeTemperature } from '../../contract/temperature.ts';
import { notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { insertFit } from '../../store/fits.ts';
import { listTemperatureReadings } from '../../store/temperatures.ts';
import { fitTemperatureLaws } from './fitTemperatureLaws.ts';
import { readTemperature } from './readTemperature.ts';

/**
 * Assesses how the resistances of a cell type depend on temperature, from the valid measurements of all its cells, and
 * stores that as a fit of the cell type; the earlier one is superseded.
 *
 * @throws Refusal `not-found`; `not-evaluable` where no resistance states its temperature
 */
export async function assessTemperature(context: Context, cellTypeId: number): Promise<CellTypeTemperature> {
  const { store } = context;
  const cellType = await findCellType(store, cellTypeId);
  if (!cellType) throw notFound('cell type', cellTypeId);
  const readings = await listTemperatureReadings(store, cellTypeId);
  if (readings.length === 0) {
    throw new Refusal(
      'not-evaluable',
      `No cell of ${cellType.name} has a resistance with its temperature; import or evaluate pulse tests at two temperatures or more.`,
    );
  }
  const referenceC = cellType.referenceTemperatureC;
  const { dependence, measurementIds } = fitTemperatureLaws(readings, referenceC);
  const at = nowText(context);
  await inTransaction(context, async (context) => {
    const fitId = await insertFit(context.store, {
      kind: 'temperature',
      cellTypeId,
      algorithm: dependence.algorithm.name,
      algorithmVersion: dependence.algorithm.version,
      settings: { referenceC },
      inputs: { measurementIds },
      result: dependence,
      createdAt: at,
      createdBy: context.actor.name,
    });
    await insertAudit(context.store, {
      at,
      actor: context.actor.name,
      action: 'cell-type.temperature-assessed',
      subjectKind: 'cell-type',
      subjectId: cellTypeId,
      detail: { fit: fitId, laws: dependence.laws.length, version: dependence.algorithm.version },
    });
  });
  const stored = await readTemperature(context, cellTypeId);
  if (stored === null) throw new Error(`The temperature fit of cell type ${cellTypeId} was not stored`);
  return stored;
}
