import { givenName } from '../../contract/common.ts';
import type { FileKind } from '../../contract/readingOptions.ts';
import { RefusedFile } from '../../import/refusedFile.ts';
import type { OpenedTable } from '../../import/streamRecord.ts';
import { importRecord } from './importRecord.ts';
import { importSpectra } from './importSpectra.ts';
import { importStackLog } from './importStackLog.ts';
import { importStepTable, importValueTable } from './importTable.ts';
import type { ImportTarget, TakenContent } from './importTarget.ts';

/**
 * Reads a file into what would be stored of it. Import and preview are this one function: a preview throws the rows away
 * and stores nothing.
 *
 * @throws RefusedFile naming the place in the file
 */
export async function readContent(
  target: ImportTarget,
  opened: OpenedTable,
  kind: FileKind | null,
): Promise<TakenContent> {
  refuseLogOptions(target, kind);
  const content = await contentOf(target, opened, kind);
  checkSerials(content);
  return content;
}

/** @throws RefusedFile naming a serial that cannot be that of a cell */
function checkSerials({ serials = [], tests, measurements }: TakenContent): void {
  for (const serial of new Set([...serials, ...[...tests, ...measurements].map((one) => one.serial)])) {
    // Nothing says which cell: the preview says so, the import refuses.
    if (serial === '' || givenName.safeParse(serial).success) continue;
    throw new RefusedFile({
      code: 'wrong-serial',
      value: serial,
      reason: 'This serial cannot be used',
      expected: 'A serial has 1 to 120 characters, without control characters and invisible marks',
    });
  }
}

function contentOf(target: ImportTarget, opened: OpenedTable, kind: FileKind | null): Promise<TakenContent> {
  switch (kind) {
    case 'record':
      return importRecord(target, opened);
    case 'stack-log':
      return importStackLog(target, opened);
    case 'cell-table':
    case 'cycle-table':
      return importValueTable(target, opened, kind);
    case 'step-table':
      return importStepTable(target, opened);
    case 'impedance-table':
      return importSpectra(target, opened);
    case null:
      throw new RefusedFile({
        code: 'unknown-kind',
        row: opened.head.dialect.headerLine,
        reason:
          'The header is neither that of a record or a stack log nor of a table of cells, cycles, steps or impedance',
        expected:
          `Columns are ${opened.head.header.map((name) => `"${name}"`).join(', ')}; ` +
          'say which are time, voltage and current with --columns, or what the file is with --kind',
      });
  }
}

/** What is said of a stack's log would be lost with a file of another kind. @throws RefusedFile naming the option */
function refuseLogOptions({ options }: ImportTarget, kind: FileKind | null): void {
  if (kind === 'stack-log') return;
  const given = (['stack', 'cycle', 'efc', 'startedAt'] as const).find((name) => options[name] !== undefined);
  if (given === undefined) return;
  throw new RefusedFile({
    code: 'option-does-not-apply',
    column: given,
    value: String(options[given]),
    reason: `This option is for a stack log, and the file is read as ${kind ?? 'none of the kinds known'}`,
    expected: 'Leave it out, or say that the file is a stack log with --kind stack-log',
  });
}
