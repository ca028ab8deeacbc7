import type { StoredChargeStudy } from '../../../../server/contract/chargeStudies.ts';
import { inputsOfStudy } from './inputsOfStudy.ts';
import { inputsText } from './studyInputs.ts';

/** The address of a new study with the subject, the picked parts and the inputs of a stored one. */
export function newFromPath({ id, stackId, cellIds, description }: StoredChargeStudy): string {
  const inputs = inputsText(inputsOfStudy(description));
  const query = new URLSearchParams(
    stackId === null ? { cells: cellIds.join() } : { stack: String(stackId) },
  );
  for (const kind of ['source', 'cable', 'converter'] as const) {
    const name = description[kind]?.part?.name;
    if (name !== undefined) query.set(kind, name);
  }
  if (inputs !== '') query.set('inputs', inputs);
  query.set('from', String(id));
  return `/charge-studies/new?${query}`;
}
