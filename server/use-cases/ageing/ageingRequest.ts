import { type EndOfLife, parseEndOfLife } from '../../assess/ageing/ageingLimits.ts';
import type { Context } from '../../context.ts';
import type { AgeingSettingsInput } from '../../contract/ageingAssessment.ts';
import type { CellType } from '../../contract/cellTypes.ts';
import type { Lot } from '../../contract/lots.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { findLot } from '../../store/lots.ts';

/** The subject of an assessment, checked before anything is computed. */
export interface AgeingRequest {
  readonly lot: Lot;
  readonly cellType: CellType;
  /** Undefined: the usual ones. */
  readonly limits: EndOfLife[] | undefined;
}

/**
 * Checks what is asked against the lot, so that a wrong request is refused at once and not only in its job.
 *
 * @throws Refusal `not-found`, `invalid-request` for an end of life that cannot be read or stress values that do not fit
 */
export async function readAgeingRequest(
  context: Context,
  lotId: number,
  settings: AgeingSettingsInput,
): Promise<AgeingRequest> {
  const lot = await findLot(context.store, lotId);
  const cellType = lot === null ? null : await findCellType(context.store, lot.cellTypeId);
  if (lot === null || cellType === null) throw notFound('lot', lotId);
  checkStress(settings);
  return { lot, cellType, limits: readLimits(settings, cellType.ratedCapacityAh) };
}

function readLimits(settings: AgeingSettingsInput, rated: number): EndOfLife[] | undefined {
  return settings.endOfLife?.map((text, i) => {
    try {
      return parseEndOfLife(text, rated);
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      throw new Refusal('invalid-request', error.message, [
        fieldError(
          `endOfLife.${i}`,
          text,
          'this is not an end of life',
          '80%-of-rated, 80%-of-first, 0.88Ah, 200% or 0.05ohm',
        ),
      ]);
    }
  });
}

function checkStress({ stress }: AgeingSettingsInput): void {
  stress?.cells.forEach(({ cellId, values }, i) => {
    if (values.length === stress.terms.length) return;
    throw new Refusal(
      'invalid-request',
      `Cell ${cellId} has ${values.length} values for ${stress.terms.length} terms.`,
      [
        fieldError(
          `stress.cells.${i}.values`,
          values.join(', '),
          'wrong number of values',
          `as many as there are terms: ${stress.terms.length}`,
        ),
      ],
    );
  });
}
