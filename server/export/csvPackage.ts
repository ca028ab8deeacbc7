import { strToU8, zipSync } from 'fflate';
import type { ParameterSet } from '../contract/parameterSet.ts';
import { csvText } from './csv.ts';
import { identifier } from './names.ts';
import type { PackageTable } from './packageTable.ts';
import { packageTables } from './packageTables.ts';
import { type ExportRecord, recordColumnNames, recordCsv } from './recordCsv.ts';

/** A fixed time for every entry of the archive, so that equal parameters give equal bytes. */
const entryTime = new Date(1980, 0, 1);

/** Missing numbers are empty fields; the field named `reason` beside them says why. */
const missingValues = [''];

/**
 * The parameter set as an open Data Package (datapackage.org, version 1 profile): `datapackage.json` and one CSV file
 * for each table, in one zip archive; records too where they are given.
 */
export function csvPackage(set: ParameterSet, records: readonly ExportRecord[] = []): Uint8Array {
  const tables = packageTables(set);
  const entries: Record<string, Uint8Array> = {};
  const resources: Record<string, unknown>[] = [];
  for (const table of tables) {
    entries[`${table.name}.csv`] = strToU8(
      csvText(
        table.fields.map((field) => field.name),
        table.rows,
      ),
    );
    resources.push(tableResource(table));
  }
  for (const record of records) {
    const path = `records/test-${record.testId}.csv`;
    entries[path] = recordCsv(record);
    resources.push(recordResource(record, path));
  }
  const descriptor = {
    profile: 'tabular-data-package',
    name: `${set.kind}-${set.subject.id}-${identifier(set.subject.name, 'parameters')}`.replaceAll('_', '-'),
    title: set.subject.name,
    description: set.cautions.map((caution) => caution.text).join(' '),
    version: `${set.schemaVersion}.0.0`,
    gemel: { schema: set.schema, kind: set.kind, software: set.provenance.software, units: 'UCUM' },
    resources,
  };
  const ordered = { 'datapackage.json': strToU8(`${JSON.stringify(descriptor, null, 2)}\n`), ...entries };
  return zipSync(ordered, { mtime: entryTime, level: 6, os: 3 });
}

const dialect = { delimiter: ',', lineTerminator: '\r\n', quoteChar: '"', doubleQuote: true, header: true };

function tableResource(table: PackageTable): Record<string, unknown> {
  return {
    profile: 'tabular-data-resource',
    name: table.name,
    path: `${table.name}.csv`,
    title: table.title,
    description: table.description,
    format: 'csv',
    mediatype: 'text/csv',
    encoding: 'utf-8',
    dialect,
    schema: {
      fields: table.fields,
      missingValues,
      ...(table.primaryKey === undefined ? {} : { primaryKey: table.primaryKey }),
      ...(table.foreignKeys === undefined
        ? {}
        : {
            foreignKeys: table.foreignKeys.map((key) => ({
              fields: key.fields,
              reference: { resource: key.resource, fields: key.reference },
            })),
          }),
    },
  };
}

function recordResource(record: ExportRecord, path: string): Record<string, unknown> {
  const names = recordColumnNames(record);
  return {
    profile: 'tabular-data-resource',
    name: `record-test-${record.testId}`,
    path,
    title: `Record of test ${record.testId} of cell ${record.cell}`,
    description: record.label === '' ? 'Sample series; current is positive on charge.' : record.label,
    format: 'csv',
    mediatype: 'text/csv',
    encoding: 'utf-8',
    dialect,
    schema: {
      fields: record.columns.map((column, i) => ({
        name: names[i],
        type: 'number',
        unit: column.unit,
        description: `${column.name}, as recorded`,
        ...(column.values.some(Number.isNaN) ? {} : { constraints: { required: true } }),
      })),
      missingValues,
    },
  };
}
