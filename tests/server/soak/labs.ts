import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { startTemporaryCluster } from '../../../server/setup/temporaryCluster.ts';
import { runSoak, type SoakPlan, type SoakSummary } from './runSoak.ts';

export type LabKind = 'sqlite' | 'postgresql';

type Plan = Omit<SoakPlan, 'servers' | 'workers' | 'url' | 'folder'>;

/** One service with an SQLite file, or two services and three workers with a PostgreSQL server of their own. */
export async function runLabSoak(
  kind: LabKind,
  plan: Plan,
  tell?: (kills: number) => void,
): Promise<SoakSummary> {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-soak-'));
  const cluster = kind === 'postgresql' ? await startTemporaryCluster(['max_connections=300']) : null;
  const size = cluster === null ? { servers: 1, workers: 0 } : { servers: 2, workers: 3 };
  try {
    return await runSoak({ ...plan, ...size, url: cluster?.url('postgres') ?? null, folder }, tell);
  } finally {
    await cluster?.stop();
    rmSync(folder, { recursive: true, force: true });
  }
}

/** What a soak came to, in lines of text. */
export function sayLabSoak(
  kind: LabKind,
  { kills, endedBackends, ledger, troubles, wrong }: SoakSummary,
): string {
  const files = [...ledger.files.values()];
  const undone = files.filter(({ state }) => state === 'undone').length;
  const rows = [...ledger.live.values()].reduce((sum, count) => sum + count, 0);
  return [
    `${kind}: ${kills} kills, ${endedBackends} connections of the database server ended`,
    `  ${files.length} files taken, ${undone} of them undone; ${rows} live samples; ${ledger.pairings.size} pairings, ` +
      `${ledger.pairs.size} decisions, ${ledger.stacks.size} stacks, ${ledger.undoneStacks} more undone; ${ledger.jobs.size} jobs`,
    `  asked again: ${[...troubles].map(([what, times]) => `${what} ${times}`).join(', ') || 'never'}`,
    ...(wrong.length === 0
      ? ['  nothing acknowledged is lost, nothing is there twice, nothing half there']
      : wrong.map((what) => `  WRONG: ${what}`)),
  ].join('\n');
}
