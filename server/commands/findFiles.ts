import { readdirSync, statSync } from 'node:fs';
import { basename, dirname, join, resolve } from 'node:path';
import { fieldError, Refusal } from '../errors.ts';

/** Ends of the names that are taken from folders; a file that is named itself may be called anything. */
export const importedEnds = /\.((csv|tsv|txt)(\.gz)?|xlsx|parquet|zip)$/i;

/**
 * The files that command line arguments match: files as they are, folders with everything importable below them,
 * and patterns with `*` in the last part of the path, for shells that do not expand them.
 *
 * @throws Refusal naming an argument that matches nothing
 */
export function findFiles(patterns: readonly string[]): string[] {
  const found = new Set<string>();
  for (const pattern of patterns) {
    const paths = expand(pattern);
    if (paths.length === 0) {
      throw new Refusal('invalid-request', `${pattern} matches no file.`, [
        fieldError(
          'files',
          pattern,
          'no such file, or nothing to import in the folder',
          'files ending in .csv, .tsv, .txt, .gz, .xlsx, .parquet or .zip',
        ),
      ]);
    }
    for (const path of paths) found.add(resolve(path));
  }
  return [...found];
}

function expand(pattern: string): string[] {
  const stat = statSync(pattern, { throwIfNoEntry: false });
  if (stat?.isDirectory()) return listFolder(pattern);
  if (stat !== undefined) return [pattern];
  if (!basename(pattern).includes('*')) return [];
  const source = basename(pattern)
    .replace(/[.+?^${}()|[\]\\]/g, '\\$&')
    .replace(/\*/g, '.*');
  const expression = new RegExp(`^${source}$`);
  const folder = dirname(pattern);
  if (statSync(folder, { throwIfNoEntry: false })?.isDirectory() !== true) return [];
  return readdirSync(folder)
    .filter((name) => expression.test(name))
    .sort()
    .map((name) => join(folder, name));
}

function listFolder(folder: string): string[] {
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && importedEnds.test(entry.name))
    .map((entry) => join(entry.parentPath, entry.name))
    .sort();
}
