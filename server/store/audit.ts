import { type HistoryEntry, historyEntry } from '../contract/cells.ts';
import { numbersIn } from './differences.ts';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

/** What is kept of an action: who, what, on what, with small details. */
export interface NewAuditEntry {
  readonly at: string;
  readonly actor: string;
  /** e.g. `cell.set-aside`, `file.taken`, `pairing.made`. */
  readonly action: string;
  readonly subjectKind: string;
  readonly subjectId: number | null;
  readonly detail?: HistoryEntry['detail'];
}

/** Notes an action; inside a transaction together with what it did. */
export async function insertAudit(store: Store, { detail, ...entry }: NewAuditEntry): Promise<void> {
  await store.db
    .insertInto('AuditEntry')
    .values({ ...entry, detailJson: JSON.stringify(detail ?? {}) })
    .execute();
}

/** The newest entry of an action on one thing. */
export async function findNewestAudit(
  store: Store,
  action: string,
  subjectKind: string,
  subjectId: number,
): Promise<{ at: string; detail: HistoryEntry['detail'] } | null> {
  const row = await store.db
    .selectFrom('AuditEntry')
    .select(['id', 'at', 'detailJson'])
    .where('action', '=', action)
    .where('subjectKind', '=', subjectKind)
    .where('subjectId', '=', subjectId)
    .orderBy('id', 'desc')
    .executeTakeFirst();
  if (row === undefined) return null;
  const detail = parseStored(historyEntry.shape.detail, row.detailJson, `detail of history entry ${row.id}`);
  return { at: row.at, detail };
}

const kinds: Readonly<Record<string, HistoryEntry['kind']>> = {
  created: 'created',
  taken: 'imported',
  undone: 'imported',
  sealed: 'test',
  evaluated: 'evaluated',
  available: 'state',
  'set-aside': 'state',
  retired: 'state',
  'in-stack': 'state',
  made: 'pairing',
  accepted: 'pairing',
  rejected: 'pairing',
  planned: 'stack',
  built: 'stack',
  noted: 'note',
  exported: 'export',
};

/** What happened to the given subjects, newest first, at most 500 entries. */
export async function listHistory(
  store: Store,
  subjects: readonly { kind: string; ids: readonly number[] }[],
): Promise<HistoryEntry[]> {
  const asked = subjects.filter(({ ids }) => ids.length > 0);
  if (asked.length === 0) return [];
  const rows = await store.db
    .selectFrom('AuditEntry')
    .select(['id', 'at', 'actor', 'action', 'subjectKind', 'subjectId', 'detailJson'])
    .where(({ or, and, eb }) =>
      or(
        asked.map(({ kind, ids }) =>
          and([eb('subjectKind', '=', kind), eb('subjectId', 'in', numbersIn(ids))]),
        ),
      ),
    )
    .orderBy('at', 'desc')
    .orderBy('id', 'desc')
    .limit(500)
    .execute();
  return rows.map(({ id, detailJson, ...row }) => ({
    ...row,
    kind: kinds[row.action.split('.')[1] ?? ''] ?? 'change',
    detail: parseStored(historyEntry.shape.detail, detailJson, `detail of history entry ${id}`),
  }));
}
