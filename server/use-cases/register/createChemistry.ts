import { type Context, inTransaction, nowText } from '../../context.ts';
import type { Chemistry, CreateChemistry } from '../../contract/chemistries.ts';
import { type ErrorPlace, fieldError, notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findChemistry, findChemistryByName, insertChemistry } from '../../store/chemistries.ts';

/** Adds a chemistry with its general defaults. @throws Refusal naming the defaults that do not fit together */
export async function createChemistry(context: Context, fields: CreateChemistry): Promise<Chemistry> {
  const wrong = contradictions(fields);
  if (wrong.length > 0)
    throw new Refusal(
      'invalid-request',
      `The defaults do not fit together: ${wrong.map(({ field, reason }) => `${field} ${reason}`).join('; ')}`,
      wrong,
    );
  if (await findChemistryByName(context.store, fields.name)) {
    throw new Refusal('conflict', `A chemistry named ${fields.name} is there already.`, [
      fieldError('name', fields.name, 'is taken', 'another name'),
    ]);
  }
  const id = await inTransaction(context, async (context) => {
    const added = await insertChemistry(context.store, fields);
    await insertAudit(context.store, {
      at: nowText(context),
      actor: context.actor.name,
      action: 'chemistry.created',
      subjectKind: 'chemistry',
      subjectId: added,
    });
    return added;
  });
  const made = await findChemistry(context.store, id);
  if (!made) throw notFound('chemistry', id);
  return made;
}

/** Cell types without limits of their own are charged by these defaults, so they must make sense. */
function contradictions(fields: CreateChemistry): ErrorPlace[] {
  const pairs = [
    ['plausibleVoltageMinV', 'plausibleVoltageMaxV', 'V'],
    ['dischargeCutoffV', 'chargeVoltageLimitV', 'V'],
    ['chargeVoltageLimitV', 'plausibleVoltageMaxV', 'V'],
    ['chargeTemperatureMinC', 'chargeTemperatureMaxC', '°C'],
  ] as const;
  return pairs.flatMap(([low, high, unit]) =>
    fields[low] < fields[high]
      ? []
      : [fieldError(low, fields[low], `not below ${high}`, `less than ${fields[high]} ${unit}`)],
  );
}
