import type { Context } from '../../context.ts';
import { type CellTypeTemperature, temperatureDependence } from '../../contract/temperature.ts';
import { fitHead } from '../../contract/tests.ts';
import { notFound } from '../../errors.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { findTemperatureFit } from '../../store/temperatures.ts';

/**
 * The valid temperature dependence of a cell type, null where it was not assessed.
 *
 * @throws Refusal `not-found`: no such cell type
 */
export function readTemperature(context: Context, cellTypeId: number): CellTypeTemperature | null {
  if (!findCellType(context.store, cellTypeId)) throw notFound('cell type', cellTypeId);
  const fit = findTemperatureFit(context.store, cellTypeId);
  if (fit === null) return null;
  const dependence = temperatureDependence.parse(JSON.parse(fit.resultJson));
  return { cellTypeId, fit: fitHead.parse(fit), dependence };
}
