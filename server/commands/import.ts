import { randomUUID } from 'node:crypto';
import { statSync } from 'node:fs';
import { basename } from 'node:path';
import type { Command } from 'commander';
import type { Context } from '../context.ts';
import { nowText } from '../context.ts';
import type { ImportReport } from '../contract/import.ts';
import { fieldError, Refusal } from '../errors.ts';
import { headerFingerprint } from '../import/fingerprint.ts';
import { refusalSentence } from '../import/refusedFile.ts';
import { openTable } from '../import/streamRecord.ts';
import { saveColumnMap } from '../store/columnMaps.ts';
import { sweepStagedRecords } from '../store/stagedRecords.ts';
import { fileOnDisk, importFiles } from '../use-cases/imports/importFiles.ts';
import { findFiles } from './findFiles.ts';
import type { ImportFlags } from './importOptions.ts';
import { readImportFlags, withImportOptions } from './importOptions.ts';
import { printJson } from './program.ts';
import { readReadingFlags } from './readingOptions.ts';
import { showProgress } from './showProgress.ts';
import { summaries } from './summaries.ts';
import { withContext } from './withContext.ts';

interface Flags extends ImportFlags {
  readonly saveMap?: string;
  readonly json?: boolean;
}

/** `gemel import FILES…`: files, folders and patterns into the database. */
export function registerImport(program: Command): void {
  withImportOptions(
    program
      .command('import')
      .description(summaries.import)
      .argument('<files...>', 'files, folders, or patterns with *; .gz is unpacked'),
  )
    .option('--save-map <name>', 'keep the given columns, units and sign as a column map under this name')
    .option('--json', 'machine-readable output')
    .action(async (files: string[], flags: Flags) =>
      withContext(async (context) => runImport(context, files, flags)),
    );
}

async function runImport(context: Context, patterns: readonly string[], flags: Flags): Promise<void> {
  const options = readImportFlags(flags);
  const paths = findFiles(patterns);
  await sweepStagedRecords(context.store);
  if (flags.saveMap !== undefined) await keepMap(context, paths[0], flags.saveMap, flags);
  const batch = randomUUID();
  const megabytes = paths.reduce((sum, path) => sum + statSync(path).size, 0) / 1e6;
  const bar = showProgress('MB');
  const reports = await importFiles(
    context,
    { batch, files: paths.map((path) => ({ name: basename(path), path, temporary: false })), options },
    (share) => bar(Math.round(share * megabytes), Math.round(megabytes)),
  );
  if (flags.json === true) printJson({ batch, reports });
  else for (const report of reports) process.stdout.write(`${tellReport(report)}\n`);
  for (const report of reports) {
    for (const warning of report.warnings) process.stderr.write(`${report.fileName}: ${warning}\n`);
  }
  const refused = reports.filter(({ state }) => state === 'refused');
  if (refused.length > 0) {
    throw new Refusal(
      'file-refused',
      `${refused.length} of ${reports.length} files refused.`,
      refused.map(({ fileName, refusal }) => ({
        field: fileName,
        row: refusal?.row ?? null,
        value: refusal?.value ?? null,
        reason: refusal?.reason ?? '',
        expected: refusal?.expected ?? null,
      })),
    );
  }
}

async function keepMap(context: Context, path: string, name: string, flags: Flags): Promise<void> {
  const reading = readReadingFlags(flags);
  if (Object.keys(reading).length === 0) {
    throw new Refusal('invalid-request', 'A column map needs options that say how the file is read.', [
      fieldError('columns', undefined, 'is missing', 'for example --columns time=t,voltage=U,current=I'),
    ]);
  }
  const source = await fileOnDisk(path).open();
  try {
    const { head } = await openTable(source, reading);
    await saveColumnMap(context.store, {
      name,
      fingerprint: headerFingerprint(head.header),
      reading,
      createdAt: nowText(context),
    });
  } finally {
    await source.close();
  }
}

/** One line about a file. */
export function tellReport(report: ImportReport): string {
  if (report.refusal !== null) return `${report.fileName}: refused: ${refusalSentence(report.refusal)}`;
  const parts = [
    `${report.rowCount.toLocaleString('en')} rows`,
    report.runs.length > 0 ? `${report.runs.length} tests` : '',
    report.measurementsCreated > 0 ? `${report.measurementsCreated} measurements` : '',
    `${report.cells.length} cells (${report.cellsCreated} new)`,
  ].filter((part) => part !== '');
  return `${report.fileName}: taken: ${parts.join(', ')}`;
}
