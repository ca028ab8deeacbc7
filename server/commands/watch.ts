import { randomUUID } from 'node:crypto';
import { existsSync, mkdirSync, renameSync, statSync } from 'node:fs';
import { basename, extname, join, resolve } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import { watch } from 'chokidar';
import type { Command } from 'commander';
import type { Context } from '../context.ts';
import type { ImportOptions } from '../contract/import.ts';
import { fieldError, Refusal } from '../errors.ts';
import { sweepIncomingFiles } from '../store/incomingFiles.ts';
import { sweepStagedRecords } from '../store/stagedRecords.ts';
import { importFile } from '../use-cases/imports/importFile.ts';
import { fileOnDisk } from '../use-cases/imports/importFiles.ts';
import { findFiles, importedEnds } from './findFiles.ts';
import { tellReport } from './import.ts';
import type { ImportFlags } from './importOptions.ts';
import { readImportFlags, withImportOptions } from './importOptions.ts';
import { summaries } from './summaries.ts';
import { withContext } from './withContext.ts';

interface Flags extends ImportFlags {
  readonly done?: string;
  readonly refused?: string;
  readonly settle: string;
  readonly once?: boolean;
  readonly json?: boolean;
}

/** `gemel watch DIR`: takes files as an instrument finishes them. */
export function registerWatch(program: Command): void {
  withImportOptions(program.command('watch').description(summaries.watch).argument('<folder>'))
    .option('--done <folder>', 'where taken files are moved; they stay where they are otherwise')
    .option('--refused <folder>', 'where refused files are moved; they stay where they are otherwise')
    .option('--settle <seconds>', 'a file is taken when it has not grown for so long', '5')
    .option('--once', 'take what is there and end')
    .option('--json', 'one line of JSON per file')
    .action(async (folder: string, flags: Flags) =>
      withContext(async (context) => runWatch(context, folder, flags)),
    );
}

async function runWatch(context: Context, folder: string, flags: Flags): Promise<void> {
  if (statSync(folder, { throwIfNoEntry: false })?.isDirectory() !== true) {
    throw new Refusal('invalid-request', `${folder} is not a folder.`, [
      fieldError('folder', folder, 'is not a folder', 'an existing folder'),
    ]);
  }
  const settleS = Number(flags.settle);
  if (!(settleS >= 0.1)) {
    throw new Refusal('invalid-request', 'The time to settle cannot be used.', [
      fieldError('settle', flags.settle, 'is not a number of at least 0.1', 'seconds, for example 5'),
    ]);
  }
  const options = readImportFlags(flags);
  for (const target of [flags.done, flags.refused])
    if (target !== undefined) mkdirSync(target, { recursive: true });
  await sweepStagedRecords(context.store);
  await sweepIncomingFiles(context.store, 'none');
  const take = (path: string): Promise<void> => takeFile(context, path, options, flags);
  if (flags.once === true) {
    for (const path of settledFiles(folder, settleS)) await take(path);
    return;
  }
  await watchFolder(folder, settleS, flags, take);
}

/** Files of the folder that have not been written to for the settling time. */
function settledFiles(folder: string, settleS: number): string[] {
  try {
    return findFiles([folder]).filter((path) => isSettled(path, settleS));
  } catch (error) {
    if (error instanceof Refusal) return []; // An empty folder is nothing wrong here.
    throw error;
  }
}

function isSettled(path: string, settleS: number): boolean {
  const info = statSync(path, { throwIfNoEntry: false });
  return info !== undefined && Date.now() - info.mtimeMs >= settleS * 1000;
}

async function watchFolder(
  folder: string,
  settleS: number,
  flags: Flags,
  take: (path: string) => Promise<void>,
): Promise<void> {
  const apart = [flags.done, flags.refused].filter((path) => path !== undefined).map((path) => resolve(path));
  const watcher = watch(folder, {
    awaitWriteFinish: { stabilityThreshold: settleS * 1000, pollInterval: Math.min(1000, settleS * 250) },
    ignored: (path, stats) =>
      apart.some((other) => resolve(path).startsWith(other)) ||
      (stats?.isFile() === true && !importedEnds.test(path)),
  });
  const waiting: string[] = [];
  let stopping = false;
  let failure: unknown = null;
  watcher.on('add', (path) => waiting.push(path));
  watcher.on('error', (error) => {
    failure = error;
  });
  const stop = (): void => {
    stopping = true;
  };
  process.once('SIGINT', stop);
  process.once('SIGTERM', stop);
  process.stderr.write(`Watching ${folder}. Stop with Ctrl+C.\n`);
  try {
    while (!stopping) {
      if (failure !== null) throw failure;
      const path = waiting.shift();
      if (path === undefined) await delay(100);
      else if (!existsSync(path)) continue;
      else if (isSettled(path, settleS)) await take(path);
      else {
        // What lies in the folder when watching begins is reported at once, also while it still grows.
        waiting.push(path);
        await delay(100);
      }
    }
  } finally {
    await watcher.close();
    process.off('SIGINT', stop);
    process.off('SIGTERM', stop);
  }
}

async function takeFile(context: Context, path: string, options: ImportOptions, flags: Flags): Promise<void> {
  const report = await importFile(context, fileOnDisk(path), options, randomUUID());
  // What was taken before, by an earlier run over the same folder, is done and no news.
  const known = report.refusal?.code === 'duplicate-file';
  const target = report.state === 'taken' || known ? flags.done : flags.refused;
  const movedTo = target === undefined ? null : moveTo(path, target);
  if (flags.json === true) process.stdout.write(`${JSON.stringify({ ...report, movedTo })}\n`);
  else if (!known) process.stdout.write(`${tellReport(report)}\n`);
}

/** Moves a file under its own name, with a number where that is taken: nothing is ever overwritten. */
function moveTo(path: string, folder: string): string {
  const end = extname(path);
  const stem = basename(path, end);
  let target = join(folder, basename(path));
  for (let i = 2; existsSync(target); i++) target = join(folder, `${stem} (${i})${end}`);
  renameSync(path, target);
  return target;
}
