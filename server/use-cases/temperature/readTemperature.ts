import { z } from 'zod';
import type { Context } from '../../context.ts';
import {
  type CellTypeTemperature,
  type TemperatureDependence,
  temperatureDependence,
} from '../../contract/temperature.ts';
import { fitHead } from '../../contract/tests.ts';
import { notFound } from '../../errors.ts';
import { findCellType } from '../../store/cellTypes.ts';
import type { StoredFit } from '../../store/fits.ts';
import { parseStored } from '../../store/storedJson.ts';
import { findTemperatureFit, listTemperatureReadings } from '../../store/temperatures.ts';
import { measurementsOfLaws } from './fitTemperatureLaws.ts';

/**
 * The valid temperature dependence of a cell type with what has come or gone since it was assessed, null where it was not.
 *
 * @throws Refusal `not-found`: no such cell type
 */
export async function readTemperature(
  context: Context,
  cellTypeId: number,
): Promise<CellTypeTemperature | null> {
  const { store } = context;
  const cellType = await findCellType(store, cellTypeId);
  if (!cellType) throw notFound('cell type', cellTypeId);
  const fit = await findTemperatureFit(store, cellTypeId);
  if (fit === null) return null;
  const then = new Set(parseStored(inputs, fit.inputsJson, `inputs of fit ${fit.id}`).measurementIds);
  const now = new Set(measurementsOfLaws(await listTemperatureReadings(store, cellTypeId)));
  const { referenceC } = parseStored(settings, fit.settingsJson, `settings of fit ${fit.id}`);
  return {
    cellTypeId,
    fit: fitHead.parse(fit),
    dependence: dependenceOf(fit),
    since: {
      added: [...now].filter((id) => !then.has(id)).length,
      gone: [...then].filter((id) => !now.has(id)).length,
      referenceChanged: referenceC !== cellType.referenceTemperatureC,
    },
  };
}

/** The laws of a cell type as they were assessed, null where they were not. */
export async function readTemperatureLaws(
  context: Context,
  cellTypeId: number,
): Promise<TemperatureDependence | null> {
  const fit = await findTemperatureFit(context.store, cellTypeId);
  return fit === null ? null : dependenceOf(fit);
}

const inputs = z.object({ measurementIds: z.array(z.int()) });
const settings = z.object({ referenceC: z.number() });

function dependenceOf(fit: StoredFit): TemperatureDependence {
  return parseStored(temperatureDependence, fit.resultJson, `result of fit ${fit.id}`);
}
