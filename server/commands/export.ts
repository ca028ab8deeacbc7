import { existsSync, statSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { Command } from 'commander';
import type { Context } from '../context.ts';
import type { ExportSubjectKind } from '../contract/exports.ts';
import { createExport as createBody, exportFormat, exportSubjectKind } from '../contract/exports.ts';
import { fieldError, Refusal } from '../errors.ts';
import { findCellBySerial } from '../store/cells.ts';
import { findCellTypeByName } from '../store/cellTypes.ts';
import { findLotByName } from '../store/lots.ts';
import { findStackId } from '../store/stacks.ts';
import { recordExport } from '../use-cases/exports/createExport.ts';
import { writeExport } from '../use-cases/exports/writeExport.ts';
import { lotByName } from './lot.ts';
import { printJson } from './program.ts';
import { summaries } from './summaries.ts';
import { withContext } from './withContext.ts';

interface ExportOptions {
  readonly lot?: string;
  readonly out?: string;
  readonly withRecords?: boolean;
  readonly pulses?: string;
  readonly against?: string;
  readonly json?: boolean;
}

/** `gemel export FORMAT KIND SUBJECT`: writes a file for another tool and records the export. */
export function registerExport(program: Command): void {
  program
    .command('export')
    .description(summaries.export)
    .argument('<format>', `one of: ${exportFormat.options.join(', ')}`)
    .argument('<kind>', `of what: ${exportSubjectKind.options.join(', ')}`)
    .argument('<subject>', 'its identifier, or the name of a lot, cell type or stack, or with --lot a serial')
    .option('--lot <name>', 'the lot that a cell is named in by its serial')
    .option('--out <path>', 'file or folder to write to; the present folder where left out')
    .option('--with-records', 'put the records into the CSV package too')
    .option('--pulses <direction>', 'charge or discharge: the pulses that circuit tables come from')
    .option('--against <what>', 'time or soc: what the rows of a charge profile go by')
    .option('--json', 'machine-readable output')
    .action(async (format: string, kind: string, subject: string, options: ExportOptions) =>
      withContext(async (context) => exportToFile(context, format, kind, subject, options)),
    );
}

async function exportToFile(
  context: Context,
  format: string,
  kind: string,
  subject: string,
  options: ExportOptions,
): Promise<void> {
  const subjectKind = oneOf(exportSubjectKind.options, kind, 'kind');
  const request = createBody.parse({
    format: oneOf(exportFormat.options, format, 'format'),
    subjectKind,
    subjectId: await findSubject(context, subjectKind, subject, options.lot),
    withRecords: options.withRecords ?? false,
    ...(options.pulses === undefined
      ? {}
      : { pulseDirection: oneOf(['charge', 'discharge'], options.pulses, '--pulses') }),
    ...(options.against === undefined
      ? {}
      : { profileAgainst: oneOf(['time', 'soc'], options.against, '--against') }),
  });
  const written = await writeExport(context, request);
  const path = placeFor(options.out, written.fileName);
  const entry = await recordExport(context, request, written);
  writeFileSync(path, written.data, { flag: 'wx' });
  if (options.json) printJson({ ...entry, path });
  else process.stdout.write(`Wrote ${path}: ${entry.bytes} bytes, SHA-256 ${entry.sha256}.\n`);
}

function oneOf<T extends string>(allowed: readonly T[], text: string, field: string): T {
  const found = allowed.find((option) => option === text);
  if (found !== undefined) return found;
  throw new Refusal('invalid-request', `${text} is not known as ${field}.`, [
    fieldError(field, text, 'not known', `one of: ${allowed.join(', ')}`),
  ]);
}

/** The file to write: never one that is there already. */
function placeFor(out: string | undefined, fileName: string): string {
  const wanted = resolve(out ?? '.');
  const path = existsSync(wanted) && statSync(wanted).isDirectory() ? join(wanted, fileName) : wanted;
  if (existsSync(path)) throw new Refusal('conflict', `${path} is there already; nothing was written.`);
  return path;
}

async function findSubject(
  context: Context,
  kind: ExportSubjectKind,
  text: string,
  lotName: string | undefined,
): Promise<number> {
  const { store } = context;
  const byName = async (): Promise<number | null | undefined> => {
    if (kind === 'cell' && lotName !== undefined)
      return (await findCellBySerial(store, (await lotByName(context, lotName)).id, text))?.id;
    if (kind === 'lot') return (await findLotByName(store, text))?.id;
    if (kind === 'cell-type') return (await findCellTypeByName(store, text))?.id;
    if (kind === 'stack') return findStackId(store, text);
    return null;
  };
  const found = await byName();
  if (found !== null && found !== undefined) return found;
  if (/^[1-9]\d{0,9}$/.test(text) && lotName === undefined) return Number(text);
  throw new Refusal('not-found', `There is no ${kind} ${text}.`, [
    fieldError(
      'subject',
      text,
      'neither a known name nor an identifier',
      kind === 'cell' ? 'an identifier, or a serial with --lot' : 'an identifier or the name',
    ),
  ]);
}
