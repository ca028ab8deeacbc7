import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { z } from 'zod';
import { projectRoot } from '../../server/projectRoot.ts';

const row = z.strictObject({ who: z.string(), medianS: z.number(), note: z.string().optional() });

/** One bench on one commit. */
const entry = z.strictObject({
  /** Commit of the working tree, ending in `+` where files differed from it. */
  commit: z.string(),
  /** `YYYY-MM-DD`. */
  day: z.string(),
  name: z.string(),
  title: z.string(),
  against: z.string(),
  /** Lower quartile, median and upper quartile of the ratio over the runs; null where there is no ratio. */
  ratio: z.tuple([z.number(), z.number(), z.number()]).nullable(),
  runs: z.int().positive(),
  /** Largest one-minute load of the machine seen between the runs, and its cores. */
  load: z.number(),
  cores: z.int(),
  rows: z.array(row),
  remarks: z.array(z.string()),
});
export type HistoryEntry = z.infer<typeof entry>;

const file = new URL('results/history.json', import.meta.url);

/** What earlier runs found, oldest first. @throws ZodError where the file was damaged by hand */
export function readHistory(): HistoryEntry[] {
  return existsSync(file) ? z.array(entry).parse(JSON.parse(readFileSync(file, 'utf8'))) : [];
}

/** Adds entries; one of the same bench on the same commit is replaced. */
export function addToHistory(added: readonly HistoryEntry[]): HistoryEntry[] {
  const isReplaced = (old: HistoryEntry) =>
    added.some(({ name, commit }) => name === old.name && commit === old.commit);
  const history = [...readHistory().filter((old) => !isReplaced(old)), ...added];
  writeFileSync(file, `${JSON.stringify(history, null, 2)}\n`);
  return history;
}

/** The commit of the working tree, ending in `+` where tracked files differ from it. */
export function commitNow(): string {
  const git = (...args: string[]) => spawnSync('git', args, { cwd: projectRoot, encoding: 'utf8' }).stdout;
  const commit = git('rev-parse', '--short', 'HEAD').trim();
  const differs = git('status', '--porcelain', '--untracked-files=no', '--', '.', ':!tests/bench/results');
  return `${commit === '' ? 'unknown' : commit}${differs.trim() === '' ? '' : '+'}`;
}
