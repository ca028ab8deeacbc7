import type { ImportReport } from '../../contract/import.ts';
import { type ReadChargeLog, readChargeLog } from '../../import/chargeLogTable.ts';
import { readRows } from '../../import/readTableFile.ts';
import { RefusedFile } from '../../import/refusedFile.ts';
import type { OpenedTable } from '../../import/streamRecord.ts';
import { blockOfValues } from '../../store/chunks/rowBlock.ts';
import { findStack, findStackId } from '../../store/stacks.ts';
import { StagedRecords } from '../../store/stagedRecords.ts';
import { tableContent } from './importTable.ts';
import type { ImportTarget, TakenContent } from './importTarget.ts';
import { LookedAtRows, type RecordStage } from './recordStage.ts';

/** Options of an import that say nothing of a stack log; one that is given is refused by its name. */
const notOfLogs = [
  'cell',
  'testKind',
  'startSoc',
  'wholeCells',
  'runColumns',
  'segments',
  'imaginarySign',
] as const;

/**
 * Reads the log of a stack by the reader of `gemel evaluate charge` into what would be stored of it: one record with a column for
 * everything that was logged, kept with the stack and the cells that are in it.
 *
 * @throws RefusedFile naming the place in the file, or the option
 */
export async function importStackLog(target: ImportTarget, opened: OpenedTable): Promise<TakenContent> {
  const { options, fromName, looking } = target;
  const wrong = notOfLogs.find((name) => options[name] !== undefined && options[name] !== false);
  if (wrong !== undefined)
    throw new RefusedFile({
      code: 'option-does-not-apply',
      column: wrong,
      value: JSON.stringify(options[wrong]),
      reason: 'This option does not apply to a stack log',
      expected: 'Leave it out; a stack log takes stack, cycle, efc, startedAt, temperatureC and label',
    });
  const table = await readRows(opened, options.afterData);
  target.onProgress(table.byteCount, table.rows.length);
  const read = readChargeLog(table, {
    columns: options.columns,
    units: options.units,
    currentSign: options.currentSign,
    dateOrder: options.dateOrder,
    ambientTemperatureC: options.temperatureC ?? fromName.temperatureC ?? undefined,
  });
  const stack = await stackOf(target, read);
  const roles = read.columns.map(({ role }) => role);
  const stored = read.columns.map(({ role, keptUnit }) => ({
    role: role === 'time' ? ('time' as const) : ('extra' as const),
    name: role,
    unit: keptUnit,
  }));
  const looked = looking
    ? new LookedAtRows(roles.length, roles.indexOf('cell-voltage-1'), roles.indexOf('stack-current'))
    : undefined;
  const stage: RecordStage = looked ?? new StagedRecords(target.context.store, stored, target.at);
  stage.begin(0);
  const columns = roles.map((role) => read.values.get(role) ?? new Float64Array(0));
  stage.rows(0, blockOfValues(columns), 0, table.rows.length);
  const [record] = await stage.finish();
  const content = tableContent(target, table, 'stack-log', {
    measurements: [],
    warnings: read.warnings,
    mapping: mappingOf(read, options.currentSign),
    unused: read.unused.map((column) => ({ column, reason: 'not-recognised' as const })),
    serials: looking ? (stack?.cells.map(({ serial }) => serial) ?? []) : [],
  });
  return {
    ...content,
    columns: stored,
    rows: looked,
    stackLog:
      stack === null
        ? null
        : {
            stackId: stack.id,
            stackName: stack.name,
            serials: stack.cells.map(({ serial }) => serial),
            cellIds: stack.cells.map(({ cellId }) => cellId),
            label: options.label ?? fromName.label ?? '',
            startedAt: options.startedAt ?? read.startedAt,
            cycle: options.cycle ?? null,
            efc: options.efc ?? null,
            ambientTemperatureC: read.log.ambientTemperatureC,
            columns: read.columns.map(({ role, source, unit, unitFrom, keptUnit }) => ({
              role,
              source,
              unit: unit.symbol,
              unitFrom,
              keptUnit,
            })),
            warnings: read.warnings,
            firstRow: table.lines[0],
            lastRow: table.lines[table.lines.length - 1],
            record,
          },
    report: {
      ...content.report,
      runs: [
        {
          key: [],
          cell: null,
          testKind: null,
          rowCount: table.rows.length,
          firstRow: table.lines[0],
          durationS: record.durationS,
          testId: null,
        },
      ],
    },
    drop: () => stage.drop(),
  };
}

/** The stack that the log is of. @throws RefusedFile where none is named, none has the name, or it has other cells than the log */
async function stackOf({ options, context, looking }: ImportTarget, { log, columns }: ReadChargeLog) {
  const { store } = context;
  if (options.stack === undefined) {
    if (looking) return null;
    throw new RefusedFile({
      code: 'missing-stack',
      reason: 'Nothing says which stack this log is of',
      expected: 'Give its name with --stack NAME',
    });
  }
  const id = await findStackId(store, options.stack);
  const stack = id === null ? null : await findStack(store, id);
  if (stack === null)
    throw new RefusedFile({
      code: 'missing-stack',
      column: 'stack',
      value: options.stack,
      reason: 'No stack has this name',
      expected: 'The name of a stack, as the list of stacks has it',
    });
  if (stack.cells.length !== log.cells.length)
    throw new RefusedFile({
      code: 'missing-column',
      column: columns.filter(({ role }) => role.startsWith('cell-voltage-')).at(-1)?.source ?? null,
      reason: `The log has the voltages of ${log.cells.length} cells, and the stack ${stack.name} has ${stack.cells.length}`,
      expected:
        'One voltage for each cell of the stack; assign the columns with --columns cell-voltage-1=NAME',
    });
  return stack;
}

function mappingOf({ columns }: ReadChargeLog, sign: string | undefined): ImportReport['mapping'] {
  return columns.map(({ role, source, index, unit, unitFrom, keptUnit }) => ({
    role,
    source,
    index,
    unit: unit.symbol,
    unitFrom,
    keptUnit,
    signTurned: role === 'stack-current' && sign === 'discharge-positive',
  }));
}
