import { type Context, nowText } from '../context.ts';
import type { Chemistry, CreateChemistry } from '../contract/chemistries.ts';
import { fieldError, Refusal } from '../errors.ts';
import { insertAudit } from '../store/audit.ts';
import { findChemistryByName, insertChemistry } from '../store/chemistries.ts';

/** Adds a chemistry with its general defaults. */
export async function createChemistry(context: Context, fields: CreateChemistry): Promise<Chemistry> {
  if (fields.plausibleVoltageMinV >= fields.plausibleVoltageMaxV) {
    throw new Refusal('invalid-request', 'The lowest plausible voltage is not below the highest.', [
      fieldError(
        'plausibleVoltageMinV',
        fields.plausibleVoltageMinV,
        'not below plausibleVoltageMaxV',
        'a lower voltage',
      ),
    ]);
  }
  if (await findChemistryByName(context.store, fields.name)) {
    throw new Refusal('conflict', `A chemistry named ${fields.name} is there already.`, [
      fieldError('name', fields.name, 'is taken', 'another name'),
    ]);
  }
  const made = await insertChemistry(context.store, fields);
  insertAudit(context.store, {
    at: nowText(context),
    actor: context.actor.name,
    action: 'chemistry.created',
    subjectKind: 'chemistry',
    subjectId: made.id,
  });
  return made;
}
