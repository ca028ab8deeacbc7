import { parse } from 'csv-parse/sync';

interface Field {
  name: string;
  type: string;
  constraints?: { required?: boolean; unique?: boolean; enum?: string[] };
}
interface Resource {
  name: string;
  path: string;
  profile: string;
  encoding: string;
  dialect: { delimiter: string; quoteChar: string; doubleQuote: boolean; header: boolean };
  schema: {
    fields: Field[];
    missingValues: string[];
    primaryKey?: string[];
    foreignKeys?: { fields: string; reference: { resource: string; fields: string } }[];
  };
}

const patterns: Readonly<Record<string, RegExp>> = {
  integer: /^[+-]?\d+$/,
  number: /^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?$/,
  datetime: /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z$/,
};

/** A table of the package with the values of its cells as text. */
export interface ReadTable {
  readonly header: string[];
  readonly rows: string[][];
}

/**
 * Checks a package against the rules of the open Data Package, Data Resource, Table Schema and CSV Dialect
 * specifications (datapackage.org, version 1): names, paths, profiles, types, constraints, keys.
 *
 * @returns every rule broken, and the tables as read by a general CSV reader.
 */
export function checkDataPackage(files: Record<string, Uint8Array>): {
  broken: string[];
  tables: Map<string, ReadTable>;
} {
  const broken: string[] = [];
  const tables = new Map<string, ReadTable>();
  const descriptor = JSON.parse(Buffer.from(files['datapackage.json']).toString('utf8'));
  if (descriptor.profile !== 'tabular-data-package') broken.push('profile');
  if (!/^[a-z0-9._-]+$/.test(descriptor.name)) broken.push(`package name ${descriptor.name}`);
  if (!Array.isArray(descriptor.resources) || descriptor.resources.length === 0) broken.push('resources');
  const names = new Set<string>();
  const paths = new Set<string>(['datapackage.json']);
  for (const resource of descriptor.resources as Resource[]) {
    if (!/^[a-z0-9._-]+$/.test(resource.name)) broken.push(`resource name ${resource.name}`);
    if (names.has(resource.name)) broken.push(`resource ${resource.name} twice`);
    names.add(resource.name);
    // A path is relative, POSIX, and does not leave the package.
    if (resource.path.startsWith('/') || resource.path.split('/').includes('..'))
      broken.push(`path ${resource.path}`);
    paths.add(resource.path);
    if (files[resource.path] === undefined) broken.push(`no file ${resource.path}`);
    else tables.set(resource.name, checkTable(resource, files[resource.path], broken));
  }
  for (const path of Object.keys(files)) if (!paths.has(path)) broken.push(`file ${path} is in no resource`);
  for (const resource of descriptor.resources as Resource[]) checkForeignKeys(resource, tables, broken);
  return { broken, tables };
}

function checkTable(resource: Resource, bytes: Uint8Array, broken: string[]): ReadTable {
  const where = resource.name;
  if (resource.profile !== 'tabular-data-resource') broken.push(`${where}: profile`);
  if (resource.encoding !== 'utf-8') broken.push(`${where}: encoding`);
  const text = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
  const [header, ...rows] = parse(text, {
    delimiter: resource.dialect.delimiter,
    quote: resource.dialect.quoteChar,
    record_delimiter: '\r\n',
  }) as string[][];
  const { fields, missingValues, primaryKey } = resource.schema;
  if (JSON.stringify(header) !== JSON.stringify(fields.map((field) => field.name)))
    broken.push(`${where}: the header differs from the fields`);
  if (new Set(header).size !== header.length) broken.push(`${where}: a field name occurs twice`);
  fields.forEach((field, column) => {
    const values = rows.map((row) => row[column]);
    values.forEach((value, row) => {
      const at = `${where}: row ${row + 1}, ${field.name}`;
      if (missingValues.includes(value)) {
        if (field.constraints?.required === true && field.type !== 'string') broken.push(`${at}: missing`);
        return;
      }
      const pattern = patterns[field.type];
      if (field.type !== 'string' && pattern === undefined) broken.push(`${at}: unknown type ${field.type}`);
      if (pattern && !pattern.test(value)) broken.push(`${at}: ${value} is no ${field.type}`);
      if (field.constraints?.enum && !field.constraints.enum.includes(value)) broken.push(`${at}: ${value}`);
    });
    if (field.constraints?.unique === true && new Set(values).size !== values.length)
      broken.push(`${where}: ${field.name} is not unique`);
  });
  for (const key of primaryKey ?? []) if (!header.includes(key)) broken.push(`${where}: primary key ${key}`);
  return { header, rows };
}

function checkForeignKeys(resource: Resource, tables: Map<string, ReadTable>, broken: string[]): void {
  for (const key of resource.schema.foreignKeys ?? []) {
    const target = tables.get(key.reference.resource);
    const own = tables.get(resource.name);
    if (!target || !own) {
      broken.push(`${resource.name}: foreign key to ${key.reference.resource}`);
      continue;
    }
    const known = new Set(target.rows.map((row) => row[target.header.indexOf(key.reference.fields)]));
    for (const row of own.rows) {
      const value = row[own.header.indexOf(key.fields)];
      if (!known.has(value))
        broken.push(`${resource.name}: ${key.fields} ${value} is not in the other table`);
    }
  }
}
