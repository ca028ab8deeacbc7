import { z } from 'zod';
import {
  type CreateSupplyPart,
  partMeasured,
  type SupplyPart,
  type SupplyPartKind,
  supplyPart,
} from '../contract/supplyParts.ts';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

const columns = [
  'id',
  'kind',
  'name',
  'revision',
  'note',
  'descriptionJson',
  'measuredJson',
  'fitId',
  'createdAt',
  'createdBy',
  'supersededAt',
] as const;

interface PartRow {
  readonly id: number;
  readonly kind: SupplyPartKind;
  readonly descriptionJson: string;
  readonly measuredJson: string;
}

/** What the stored document holds beside the description. */
const storedDescription = z.object({
  description: z.unknown(),
  temperatureLimitC: z.number().nullable().default(null),
});

function present({ descriptionJson, measuredJson, ...row }: PartRow): SupplyPart {
  const what = `supply part ${row.id}`;
  const { description, temperatureLimitC } = parseStored(storedDescription, descriptionJson, what);
  return supplyPart.parse({
    ...row,
    description,
    ...(row.kind === 'converter' ? { temperatureLimitC } : {}),
    measured: parseStored(partMeasured, measuredJson, `measurements of ${what}`),
  });
}

/** Parts that studies can pick, by kind and name. */
export async function listSupplyParts(store: Store, kind?: SupplyPartKind): Promise<SupplyPart[]> {
  let query = store.db.selectFrom('SupplyPart').select(columns).where('supersededAt', 'is', null);
  if (kind !== undefined) query = query.where('kind', '=', kind);
  return (await query.orderBy('kind').orderBy('name').execute()).map(present);
}

export async function findSupplyPart(store: Store, id: number): Promise<SupplyPart | null> {
  const row = await store.db.selectFrom('SupplyPart').select(columns).where('id', '=', id).executeTakeFirst();
  return row === undefined ? null : present(row);
}

/** The revision of a part that studies pick now; null where none has the name. */
export async function findPresentPart(
  store: Store,
  kind: SupplyPartKind,
  name: string,
): Promise<SupplyPart | null> {
  const row = await store.db
    .selectFrom('SupplyPart')
    .select(columns)
    .where('kind', '=', kind)
    .where('name', '=', name)
    .where('supersededAt', 'is', null)
    .executeTakeFirst();
  return row === undefined ? null : present(row);
}

/** Stores a part as the next revision of its name; the present one is superseded. To be called inside a transaction. */
export async function insertSupplyPart(
  store: Store,
  part: CreateSupplyPart,
  more: {
    readonly measured: z.infer<typeof partMeasured>;
    readonly fitId: number | null;
    readonly createdAt: string;
    readonly createdBy: string;
  },
): Promise<number> {
  const { kind, name, note, description } = part;
  const last = await store.db
    .selectFrom('SupplyPart')
    .select(({ fn }) => fn.max('revision').as('revision'))
    .where('kind', '=', kind)
    .where('name', '=', name)
    .executeTakeFirst();
  await store.db
    .updateTable('SupplyPart')
    .set({ supersededAt: more.createdAt })
    .where('kind', '=', kind)
    .where('name', '=', name)
    .where('supersededAt', 'is', null)
    .execute();
  const temperatureLimitC = part.kind === 'converter' ? (part.temperatureLimitC ?? null) : null;
  const { id } = await store.db
    .insertInto('SupplyPart')
    .values({
      kind,
      name,
      note,
      revision: (last?.revision ?? 0) + 1,
      descriptionJson: JSON.stringify({ description, temperatureLimitC }),
      measuredJson: JSON.stringify(more.measured),
      fitId: more.fitId,
      createdAt: more.createdAt,
      createdBy: more.createdBy,
    })
    .returning('id')
    .executeTakeFirstOrThrow();
  return id;
}

/** Takes a part off the list; studies that used it keep what it said. False where it is off already. */
export async function putPartAway(store: Store, id: number, at: string): Promise<boolean> {
  const { numUpdatedRows } = await store.db
    .updateTable('SupplyPart')
    .set({ supersededAt: at })
    .where('id', '=', id)
    .where('supersededAt', 'is', null)
    .executeTakeFirstOrThrow();
  return numUpdatedRows === 1n;
}
