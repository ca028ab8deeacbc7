import type { Context } from '../../context.ts';
import type { StoredChargeStudy } from '../../contract/chargeStudies.ts';
import { chargeStudyDescription } from '../../contract/chargeStudy.ts';
import { chargeStudyResult } from '../../contract/chargeStudyResult.ts';
import { notFound } from '../../errors.ts';
import { findChargeStudy, presentHead, readInputs } from '../../store/chargeStudies.ts';
import { parseStored } from '../../store/storedJson.ts';

/** A stored study with its description and, once computed, its result. @throws Refusal `not-found` */
export async function readChargeStudy(
  context: Pick<Context, 'store'>,
  id: number,
): Promise<StoredChargeStudy> {
  const row = await findChargeStudy(context.store, id);
  if (row === null) throw notFound('charge study', id);
  return {
    ...presentHead(row),
    fitIds: [...readInputs(row.inputsJson, row.id).fitIds],
    description: parseStored(
      chargeStudyDescription,
      row.descriptionJson,
      `description of charge study ${row.id}`,
    ),
    result:
      row.resultJson === null
        ? null
        : parseStored(chargeStudyResult, row.resultJson, `result of charge study ${row.id}`),
  };
}
