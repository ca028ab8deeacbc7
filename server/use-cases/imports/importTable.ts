import type { CountedSoc } from '../../contract/common.ts';
import type { ImportReport } from '../../contract/import.ts';
import { cellInPreamble, preambleFields } from '../../import/preambleFields.ts';
import type { TableFile } from '../../import/readTableFile.ts';
import { readRows } from '../../import/readTableFile.ts';
import { planTable, tableMapping } from '../../import/recognise/tablePlan.ts';
import { RefusedFile } from '../../import/refusedFile.ts';
import { readStepTable } from '../../import/stepTable.ts';
import type { OpenedTable } from '../../import/streamRecord.ts';
import { readQuantities, readWarningNotes } from '../../import/tableQuantities.ts';
import { findVoltageLimits } from '../../store/voltageLimits.ts';
import type { ImportTarget, TakenContent } from './importTarget.ts';
import { markImplausible } from './markImplausible.ts';
import { stepTableCapacities } from './stepTableCapacities.ts';
import { stepTableMeasurements } from './stepTableMeasurements.ts';
import type { TakenMeasurement } from './takenFile.ts';

/** Reads a table with one row per cell or per cycle; every number becomes a measurement. */
export async function importValueTable(
  target: ImportTarget,
  opened: OpenedTable,
  kind: 'cell-table' | 'cycle-table',
): Promise<TakenContent> {
  const table = await readRows(opened, target.options.afterData);
  target.onProgress(table.byteCount, table.rows.length);
  const plan = planTable(table, target.options);
  if (plan.quantities.length === 0 && plan.pulses.voltages.length === 0) {
    throw new RefusedFile({
      code: 'missing-column',
      row: table.dialect.headerLine,
      reason:
        'No column is recognised as a capacity, resistance, voltage, mass or other quantity with its unit',
      expected: 'Put units into the names, for example capacity_Ah, resistance_10s_mohm, ocv_V, mass_g',
    });
  }
  const readingWarnings: string[] = [];
  const counted = await nominalStates(target, table, plan.socAt);
  const measurements = readQuantities(table, plan, readingWarnings).map(
    (value): TakenMeasurement => ({
      // Written out: a large table has hundreds of thousands of them, and copies of all members cost a multiple.
      serial: value.serial ?? givenSerial(target, table),
      quantity: value.quantity,
      value: value.value,
      unit: value.unit,
      standardUncertainty: value.standardUncertainty,
      reason: value.standardUncertainty === null ? 'uncertainty-not-stated' : null,
      soc: value.soc,
      counted: counted(value.soc),
      temperatureC: value.temperatureC ?? target.options.temperatureC ?? target.fromName.temperatureC,
      direction: value.direction,
      durationS: value.durationS,
      currentA: value.currentA,
      cycle: value.cycle,
      efc: null,
      method: `import: ${value.column}`,
      excludedReason: null,
      operator: value.operator,
      measuredAt: null,
      testId: null,
      fitId: null,
      sourceRow: value.row,
    }),
  );
  const marked = await markImplausible(target.context.store, target.lotId, measurements);
  return tableContent(target, table, kind, {
    measurements: marked.measurements,
    warnings: [...plan.warnings, ...readingWarnings, ...marked.warnings],
    mapping: tableMapping(plan, table.header),
    unused: plan.unused,
    serials: plan.serialAt < 0 ? [] : table.rows.map((row) => row[plan.serialAt]),
    notes: readWarningNotes(table, plan),
  });
}

/** A header that says that its states of charge are parts of the nominal (rated) capacity, not of the cell's own. */
const nominalSoc = /\b(nominal|rated|nenn)/i;

/**
 * How the states of a column were counted where its header says that they are parts of the rated capacity: they are put on
 * the cell's own scale as soon as its capacity is known. Null for every state of any other column.
 */
async function nominalStates(
  target: ImportTarget,
  table: TableFile,
  socAt: number,
): Promise<(soc: number | null) => CountedSoc | null> {
  const isNominal = socAt >= 0 && nominalSoc.test(table.header[socAt].replaceAll('_', ' '));
  const type =
    isNominal && target.lotId !== null ? await findVoltageLimits(target.context.store, target.lotId) : null;
  if (type === null) return () => null;
  const { ratedCapacityAh } = type;
  return (soc) => (soc === null ? null : { fromSoc: 0, chargeAh: soc * ratedCapacityAh, ratedCapacityAh });
}

/** Reads a table with one row per tester step; it becomes a test with steps, the resistances of its pulses, no record. */
export async function importStepTable(target: ImportTarget, opened: OpenedTable): Promise<TakenContent> {
  const table = await readRows(opened, target.options.afterData);
  target.onProgress(table.byteCount, table.rows.length);
  const steps = readStepTable(table);
  const { options, fromName } = target;
  const test = {
    serial: givenSerial(target, table),
    kind: options.testKind ?? fromName.testKind ?? ('pulse' as const),
    label: options.label ?? fromName.label ?? '',
    startedAt: null,
    temperatureC: options.temperatureC ?? fromName.temperatureC,
    cycle: null,
    firstRow: table.lines[0],
    lastRow: table.lines[table.lines.length - 1],
    record: null,
    steps,
  };
  const limits = target.lotId === null ? null : await findVoltageLimits(target.context.store, target.lotId);
  const measurements =
    limits === null
      ? []
      : [
          ...stepTableCapacities(test.serial, steps, limits, test.temperatureC, table.lines),
          ...(test.kind === 'pulse'
            ? stepTableMeasurements(test.serial, steps, limits, test.temperatureC, table.lines)
            : []),
        ];
  const content = tableContent(
    target,
    table,
    'step-table',
    await markImplausible(target.context.store, target.lotId, measurements),
  );
  const last = steps[steps.length - 1];
  return {
    ...content,
    tests: [test],
    report: {
      ...content.report,
      runs: [
        {
          key: [],
          cell: test.serial,
          testKind: test.kind,
          rowCount: table.rows.length,
          firstRow: table.lines[0],
          durationS: last.startTimeS + last.durationS - steps[0].startTimeS,
          testId: null,
        },
      ],
    },
  };
}

/** The serial that options or name pattern give. @throws RefusedFile `missing-cell` */
export function givenSerial(target: ImportTarget, table: TableFile): string {
  const serial =
    target.options.cell ?? target.fromName.cell ?? cellInPreamble(preambleFields(table.dialect.preamble));
  if (serial !== undefined && serial !== null) return serial;
  if (target.looking) return '';
  throw new RefusedFile({
    code: 'missing-cell',
    row: table.dialect.headerLine,
    reason: 'Nothing says which cell these rows belong to',
    expected: 'Give its serial with --cell SERIAL, by a name pattern, or in a column such as cell_id',
  });
}

/** What all tables give out: their report, and what was found in them. */
export function tableContent(
  target: ImportTarget,
  table: TableFile,
  kind: ImportReport['kind'] & string,
  found: {
    measurements: readonly TakenMeasurement[];
    warnings: readonly string[];
    mapping?: ImportReport['mapping'];
    unused?: readonly ImportReport['unusedColumns'][number][];
    serials?: readonly string[];
    notes?: ReadonlyMap<string, string>;
  },
): TakenContent {
  const report: ImportReport = {
    sourceFileId: null,
    fileName: target.name,
    state: 'taken',
    kind,
    sha256: table.sha256,
    bytes: table.byteCount,
    rowCount: table.rows.length,
    dialect: { ...table.dialect, preamble: [...table.dialect.preamble] },
    mapping: [...(found.mapping ?? [])],
    unusedColumns: [...(found.unused ?? [])],
    preamble: preambleFields(table.dialect.preamble),
    runs: [],
    cells: [],
    cellsCreated: 0,
    measurementsCreated: 0,
    stackLogId: null,
    cellReports: [],
    warnings: [...table.notes, ...found.warnings],
    refusal: null,
  };
  return {
    sha256: table.sha256,
    bytes: table.byteCount,
    kind,
    rowCount: table.rows.length,
    columns: [],
    tests: [],
    measurements: found.measurements,
    serials: found.serials ?? [],
    notes: found.notes ?? new Map(),
    report,
    drop: async () => {},
  };
}
