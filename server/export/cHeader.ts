import type { ChargeCellDescription, GridValue } from '../contract/chargeStudy.ts';
import type { CircuitSubject } from './circuitSubject.ts';
import { type FixedPoint, fixedPoint, largestRelativeRounding } from './fixedPoint.ts';
import { asciiJson, commentText, uniqueIdentifiers } from './names.ts';
import { ExportRefused } from './refusal.ts';

/** A table of the header. */
interface Table extends FixedPoint {
  readonly name: string;
  readonly unit: string;
  readonly comment: string;
}

/**
 * A C99 header with the tables of one or more cells in fixed point for charger and gauge firmware.
 * Every table says its scale; a raw number divided by it is the value in the unit named.
 *
 * @throws ExportRefused where a table does not fit 32-bit integers well enough.
 */
export function cHeader(subject: CircuitSubject): string {
  const prefixes = uniqueIdentifiers(
    subject.cells.map((cell) => `cell_${cell.name}`.slice(0, 36)),
    'cell',
  );
  const tables = subject.cells.map((cell, i) => tablesOf(cell, prefixes[i]));
  const bytes = tables.flat().reduce((sum, table) => sum + table.raw.length * table.bytesEach, 0);
  const guard = `GEMEL_${prefixes.join('_').toUpperCase().slice(0, 50)}_H`;
  const blocks = [
    header(subject, bytes),
    `#ifndef ${guard}\n#define ${guard}\n\n#include <stdint.h>`,
    `/* Bytes of all tables, without the names. */\n#define ${prefixes[0].toUpperCase()}_TABLE_BYTES ${bytes}u`,
    ...subject.cells.map((cell, i) => cellBlock(cell, prefixes[i], tables[i])),
    sizeCheck(tables.flat(), prefixes[0], bytes),
    `#endif /* ${guard} */`,
  ];
  return `${blocks.join('\n\n')}\n`;
}

function header(subject: CircuitSubject, bytes: number): string {
  const lines = [
    `/* Parameters of ${asciiJson(subject.title)}`,
    ' *',
    ' * value = raw / scale. Raw numbers are rounded to the nearest integer, halves away from zero; no value changes by',
    ` * more than 1 part in ${1 / largestRelativeRounding} of itself. Tables take ${bytes} bytes.`,
    ' * Tables are read by straight lines between their points. Beyond their ends hold the edge value and raise a fault.',
    ' * A table over SOC and temperature has index soc_index * temperature_count + temperature_index.',
    ' * Currents are positive on charge.',
  ];
  subject.notes.forEach((notes, i) => {
    for (const note of notes) lines.push(` * ${asciiJson(subject.cells[i].name)}: ${commentText(note)}`);
  });
  for (const caution of subject.cautions) lines.push(` * Caution: ${commentText(caution)}`);
  for (const origin of subject.provenance) lines.push(` * From ${commentText(origin)}`);
  return `${lines.join('\n')}\n */`;
}

function flatten(value: GridValue, cell: ChargeCellDescription): number[] {
  const temperatures = Math.max(1, cell.temperatureC?.length ?? 1);
  return cell.soc.flatMap((_, s) =>
    Array.from({ length: temperatures }, (_, t) => {
      if (typeof value === 'number') return value;
      const row = value[s];
      return typeof row === 'number' ? row : row[t];
    }),
  );
}

function tablesOf(cell: ChargeCellDescription, prefix: string): Table[] {
  const where = `cell "${cell.name}"`;
  if (cell.arrhenius !== undefined)
    throw new ExportRefused(
      'wrong-subject',
      `${where}: temperature dependence`,
      'an exponential law',
      'firmware tables hold temperature as a table: give the resistances at two or more temperatures',
    );
  const table = (
    name: string,
    unit: string,
    comment: string,
    values: readonly number[],
    ascending = false,
  ): Table => ({
    name: `${prefix}_${name}`,
    unit,
    comment,
    ...fixedPoint(values, `${where}: ${name}`, ascending),
  });
  const tables = [table('soc', '1', 'state of charge', cell.soc, true)];
  if (cell.temperatureC !== undefined)
    tables.push(table('temperature', 'Cel', 'temperature', cell.temperatureC, true));
  // The OCV does not depend on temperature in the fitted tables; it stays a table over SOC alone.
  const ocv = cell.ocvV;
  const overSoc = Array.isArray(ocv) && ocv.every((v) => typeof v === 'number');
  tables.push(table('ocv', 'V', 'open-circuit voltage', overSoc ? (ocv as number[]) : flatten(ocv, cell)));
  tables.push(table('r0', 'Ohm', 'ohmic resistance', flatten(cell.r0Ohm, cell)));
  cell.branches.forEach((branch, j) => {
    tables.push(table(`r${j + 1}`, 'Ohm', `resistance of branch ${j + 1}`, flatten(branch.rOhm, cell)));
    tables.push(table(`tau${j + 1}`, 's', `time constant of branch ${j + 1}`, flatten(branch.tauS, cell)));
  });
  if (cell.entropicVPerK !== undefined)
    tables.push(table('entropic', 'V/K', 'entropic coefficient', flatten(cell.entropicVPerK, cell)));
  return tables;
}

function cellBlock(cell: ChargeCellDescription, prefix: string, tables: readonly Table[]): string {
  const macro = prefix.toUpperCase();
  const lines = [
    `/* ${asciiJson(cell.name)} */`,
    `static const char ${prefix}_name[] = ${cString(cell.name)};`,
    `#define ${macro}_SOC_COUNT ${cell.soc.length}u`,
    `#define ${macro}_TEMPERATURE_COUNT ${cell.temperatureC?.length ?? 1}u`,
    `#define ${macro}_BRANCH_COUNT ${cell.branches.length}u`,
    ...constants(cell, macro),
  ];
  for (const table of tables) {
    lines.push(
      `/* ${table.comment}, unit ${table.unit} */`,
      `#define ${table.name.toUpperCase()}_SCALE ${table.scale}${table.scale > 32767 ? 'L' : ''}`,
      `static const ${table.cType} ${table.name}[${table.raw.length}] = {`,
      ...rows(table),
      '};',
    );
  }
  return lines.join('\n');
}

/** Single numbers, as integers in small units that need no scale. */
function constants(cell: ChargeCellDescription, macro: string): string[] {
  const whole = (value: number, factor: number) => String(Math.round(value * factor));
  const { datasheet } = cell;
  const basis = datasheet.defaults
    ? 'not all from the datasheet: usual limits of the chemistry'
    : 'datasheet';
  const lines = [
    `#define ${macro}_CAPACITY_UAH ${whole(cell.capacityAh, 1e6)}L`,
    `/* Limits of charge, ${basis}. The maker's datasheet outranks them. */`,
    `#define ${macro}_CHARGE_VOLTAGE_MAX_UV ${whole(datasheet.maxVoltageV, 1e6)}L`,
    `#define ${macro}_CHARGE_CURRENT_MAX_MA ${whole(datasheet.maxChargeCurrentA, 1e3)}L`,
  ];
  if (datasheet.minChargeTemperatureC !== undefined)
    lines.push(
      `#define ${macro}_CHARGE_TEMPERATURE_MIN_MC (${whole(datasheet.minChargeTemperatureC, 1e3)}L)`,
    );
  if (datasheet.maxChargeTemperatureC !== undefined)
    lines.push(
      `#define ${macro}_CHARGE_TEMPERATURE_MAX_MC (${whole(datasheet.maxChargeTemperatureC, 1e3)}L)`,
    );
  return lines;
}

function rows(table: Table): string[] {
  const suffix = table.bytesEach === 4 ? (table.cType === 'uint32_t' ? 'UL' : 'L') : '';
  const lines: string[] = [];
  for (let i = 0; i < table.raw.length; i += 8)
    lines.push(
      `  ${table.raw
        .slice(i, i + 8)
        .map((r) => `${r}${suffix}`)
        .join(', ')}${i + 8 < table.raw.length ? ',' : ''}`,
    );
  return lines;
}

/** A check that the compiler makes: the bytes stated are the bytes taken. */
function sizeCheck(tables: readonly Table[], prefix: string, bytes: number): string {
  const sum = tables.map((table) => `sizeof(${table.name})`).join(' + ');
  return `/* Does not compile where the tables are not ${bytes} bytes. */\ntypedef char ${prefix}_size_check[(${sum} == ${bytes}u) ? 1 : -1];`;
}

/** A C string literal whose bytes are the UTF-8 of the text. */
function cString(text: string): string {
  const bytes = [...Buffer.from(text, 'utf8')].map((byte) => {
    const plain = byte >= 0x20 && byte < 0x7f && byte !== 0x22 && byte !== 0x5c && byte !== 0x3f;
    return plain ? String.fromCharCode(byte) : `\\${byte.toString(8).padStart(3, '0')}`;
  });
  return `"${bytes.join('')}"`;
}
