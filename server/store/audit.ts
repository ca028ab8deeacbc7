import type { HistoryEntry } from '../contract/cells.ts';
import type { SqlStore, SqlValue, Store } from './store.ts';

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
export async function insertAudit(store: SqlStore, entry: NewAuditEntry): Promise<void> {
  await store.run(
    'INSERT INTO AuditEntry (at, actor, action, subjectKind, subjectId, detailJson) VALUES (?, ?, ?, ?, ?, ?)',
    entry.at,
    entry.actor,
    entry.action,
    entry.subjectKind,
    entry.subjectId,
    JSON.stringify(entry.detail ?? {}),
  );
}

/** The newest entry of an action on one thing. */
export async function findNewestAudit(
  store: SqlStore,
  action: string,
  subjectKind: string,
  subjectId: number,
): Promise<{ at: string; detail: HistoryEntry['detail'] } | null> {
  const row = await store.get<{ at: string; detailJson: string }>(
    'SELECT at, detailJson FROM AuditEntry WHERE action = ? AND subjectKind = ? AND subjectId = ? ORDER BY id DESC LIMIT 1',
    action,
    subjectKind,
    subjectId,
  );
  return row === undefined ? null : { at: row.at, detail: JSON.parse(row.detailJson) };
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
  const conditions: string[] = [];
  const values: SqlValue[] = [];
  for (const subject of subjects) {
    if (subject.ids.length === 0) continue;
    conditions.push(`(subjectKind = ? AND subjectId IN (SELECT value FROM json_each(?)))`);
    values.push(subject.kind, JSON.stringify(subject.ids));
  }
  if (conditions.length === 0) return [];
  const rows = await store.all<{
    at: string;
    actor: string;
    action: string;
    subjectKind: string;
    subjectId: number | null;
    detailJson: string;
  }>(
    `SELECT at, actor, action, subjectKind, subjectId, detailJson FROM AuditEntry WHERE ${conditions.join(' OR ')}
     ORDER BY at DESC, id DESC LIMIT 500`,
    ...values,
  );
  return rows.map((row) => ({
    at: row.at,
    kind: kinds[row.action.split('.')[1] ?? ''] ?? 'change',
    action: row.action,
    actor: row.actor,
    subjectKind: row.subjectKind,
    subjectId: row.subjectId,
    detail: JSON.parse(row.detailJson) as HistoryEntry['detail'],
  }));
}
