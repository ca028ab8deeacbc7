import type { CellParameters, ParameterSet, ParameterValue } from '../contract/parameterSet.ts';
import type { CsvValue } from './csv.ts';

/** A column of a table in the package: its name and type, its unit as a UCUM code, and what it says. */
export interface PackageField {
  readonly name: string;
  readonly type: 'string' | 'number' | 'integer' | 'datetime';
  readonly unit?: string;
  readonly description: string;
  readonly constraints?: {
    readonly required?: boolean;
    readonly unique?: boolean;
    readonly enum?: readonly string[];
  };
}

/** A table of the package. */
export interface PackageTable {
  readonly name: string;
  readonly title: string;
  readonly description: string;
  readonly fields: readonly PackageField[];
  readonly primaryKey?: readonly string[];
  readonly foreignKeys?: readonly {
    readonly fields: string;
    readonly resource: string;
    readonly reference: string;
  }[];
  readonly rows: readonly (readonly CsvValue[])[];
}

export const required = { required: true };
export const cellId: PackageField = {
  name: 'cell_id',
  type: 'integer',
  description: 'Identifier of the cell',
  constraints: required,
};
export const cellKey = [{ fields: 'cell_id', resource: 'cells', reference: 'id' }];

export function field(
  name: string,
  type: PackageField['type'],
  description: string,
  unit?: string,
): PackageField {
  return { name, type, description, ...(unit === undefined ? {} : { unit }) };
}

/** Value, uncertainty and reason of a quantity as three fields. */
export function valueFields(value: ParameterValue): [number | null, number | null, string | null] {
  return [value.value, value.standardUncertainty, value.reason];
}

/** The rows of all cells, one cell after the other. */
export function eachCell(set: ParameterSet, rows: (cell: CellParameters) => CsvValue[][]): CsvValue[][] {
  return set.cells.flatMap(rows);
}
