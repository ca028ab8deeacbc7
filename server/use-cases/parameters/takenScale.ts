import type { Context } from '../../context.ts';
import { type TakenHeat, type TakenScale, takenHeat, takenScale } from '../../contract/takenParameters.ts';
import { listCellFits } from '../../store/fits.ts';
import { parseStored } from '../../store/storedJson.ts';

/** Factors on a cell's circuit tables, with the fit that holds them: they are on the tables of earlier fits only. */
export interface StoredScale {
  readonly fitId: number;
  readonly scale: TakenScale;
}

const prefix = 'resistance scale of evaluation ';

/**
 * What a fit of such factors follows. Every evaluation has one of its own, so that a later one is on top of the earlier ones
 * and not in their place; beside them there are fits of the same kind that hold capacities.
 */
export function scaleQuantityOf(evaluationId: number): string {
  return `${prefix}${evaluationId}`;
}

/** The valid factors that were taken over from measured charges of a cell, newest first. */
export async function takenScalesOf(context: Pick<Context, 'store'>, cellId: number): Promise<StoredScale[]> {
  const fits = await listCellFits(context.store, cellId, 'charge-log-taken');
  return fits
    .filter(({ quantity }) => quantity?.startsWith(prefix))
    .map(({ id, resultJson }) => ({ fitId: id, scale: parseStored(takenScale, resultJson, `fit ${id}`) }));
}

const heatPrefix = 'heat of evaluation ';

/** What a fit of a heat balance follows: each evaluation has one of its own, and the newest valid one counts. */
export function heatQuantityOf(evaluationId: number): string {
  return `${heatPrefix}${evaluationId}`;
}

/** The heat balance that was last taken over from measured charges of a cell, with its fit; null without one. */
export async function takenHeatOf(
  context: Pick<Context, 'store'>,
  cellId: number,
): Promise<{ readonly fitId: number; readonly heat: TakenHeat } | null> {
  const fits = await listCellFits(context.store, cellId, 'charge-log-taken');
  const newest = fits.find(({ quantity }) => quantity?.startsWith(heatPrefix));
  if (newest === undefined) return null;
  const { id, resultJson } = newest;
  return { fitId: id, heat: parseStored(takenHeat, resultJson, `fit ${id}`) };
}
