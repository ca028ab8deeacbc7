import type { ColumnRole } from '../contract/columnRoles.ts';
import type { ColumnChoice, UnitChoice } from './columnChoice.ts';
import { requireColumn } from './columnChoice.ts';
import { type ColumnMapping, columnMapping } from './columnMapping.ts';
import type { NamedColumn } from './proposeColumns.ts';
import { nameColumns } from './proposeColumns.ts';
import type { TableFile } from './readTableFile.ts';
import { serialOrChannelNames } from './recognise/serials.ts';
import { RefusedFile } from './refusedFile.ts';
import type { Quantity, Unit } from './units.ts';
import { parseUnit, unitsOf } from './units.ts';

/** What a column of an impedance table can be taken for. */
export const spectrumRoles = [
  'frequency',
  'real',
  'imaginary',
  'magnitude',
  'phase',
  'cell',
  'sweep',
  'soc',
  'charge',
  'voltage',
  'temperature',
] as const satisfies readonly ColumnRole[];
export type SpectrumRole = (typeof spectrumRoles)[number];

/** A column that was taken, with what turns its numbers into the unit we keep. */
export interface SpectrumColumn {
  readonly mapping: ColumnMapping;
  /** Null for texts (cell, sweep). */
  readonly unit: Pick<Unit, 'multiply' | 'divide' | 'add'> | null;
  /** Whether the column's name says that it holds −Im Z or −phase. */
  readonly namedNegative: boolean;
}

export interface SpectrumPlan {
  readonly columns: ReadonlyMap<SpectrumRole, SpectrumColumn>;
  /** Whether points are given as real and imaginary part, or as magnitude and phase. */
  readonly form: 'cartesian' | 'polar';
  readonly warnings: readonly string[];
}

/** What is asked about how the table is read. */
export interface SpectrumOptions {
  readonly columns?: ColumnChoice;
  readonly units?: UnitChoice;
  /** What a capacitive cell's imaginary part, or phase, is in the file. Found where left out. */
  readonly imaginarySign?: 'negative-capacitive' | 'positive-capacitive';
}

/** A minus before a name, as a sign in the header's own text or as a word of the name. */
const minusSign = /^\s*[-−–]/;
const minusWord = /^([-−–] ?|(minus|neg|negative|negated) )/;

/** Names by role, lower case, unit and a leading minus taken off. */
const names: Readonly<Record<SpectrumRole, RegExp>> = {
  frequency: /^(f|freq|frequency)$/,
  real: /^(re|real)( ?\(?z\)?)?$|^(re|real) part( of z| z)?$|^z ?(re|real)( part)?$|^z ?['′]$/,
  imaginary:
    /^(im|imag|imaginary)( ?\(?z\)?)?$|^(im|imag|imaginary) part( of z| z)?$|^z ?(im|imag|imaginary)( part)?$|^z ?(''|"|″|′′)$|^reactance$/,
  magnitude:
    /^\|z\|$|^z$|^(abs|mod|modulus|magnitude)( of)?( ?\(?z\)?)?$|^z ?(abs|mod|modulus|magnitude)$|^impedance( magnitude| modulus)?$/,
  phase: /^(phase|phase angle|phi|φ|theta|θ|arg ?\(?z\)?)$|^(phase|angle) ?(of )?\(?z\)?$|^z ?(phase|angle)$/,
  cell: serialOrChannelNames,
  sweep: /^(sweep|spectrum|scan)( (number|no|id|index|name))?$/,
  soc: /^(soc|state of charge)$/,
  charge: /^(charge|charge counter|q)$/,
  voltage: /^(voltage|v|u|ocv|cell voltage|dc voltage|mean voltage|rest voltage)$/,
  temperature: /^(temperature|temp|cell temperature|ambient temperature|chamber temperature)$/,
};

const quantities: Readonly<Record<SpectrumRole, Quantity | 'angle' | null>> = {
  frequency: 'frequency',
  real: 'resistance',
  imaginary: 'resistance',
  magnitude: 'resistance',
  phase: 'angle',
  cell: null,
  sweep: null,
  soc: 'fraction',
  charge: 'charge',
  voltage: 'voltage',
  temperature: 'temperature',
};

/** How a refusal calls what is missing, where the role's name alone does not say it. */
const words: Partial<Record<SpectrumRole, string>> = { real: 'real part', imaginary: 'imaginary part' };

type AnyUnit = Pick<Unit, 'symbol' | 'multiply' | 'divide' | 'add' | 'kept'>;
const degree: AnyUnit = { symbol: 'deg', multiply: Math.PI, divide: 180, add: 0, kept: 'rad' };
const radian: AnyUnit = { symbol: 'rad', multiply: 1, divide: 1, add: 0, kept: 'rad' };

/** A unit of angle is looked for here alone: elsewhere "deg" mostly means degrees Celsius. */
function parseAngle(text: string): AnyUnit | null {
  if (/^(deg|degree|degrees|°)$/i.test(text.trim())) return degree;
  return /^(rad|radian|radians)$/i.test(text.trim()) ? radian : null;
}

interface Named {
  readonly column: NamedColumn;
  readonly name: string;
  readonly unit: AnyUnit | null;
  readonly quantity: Quantity | 'angle' | null;
  readonly namedNegative: boolean;
}

function nameOf(column: NamedColumn): Named {
  const namedNegative = minusSign.test(column.source) || minusWord.test(column.name);
  const words = column.name.replace(minusWord, '');
  const angle = /^(.+?)[ (/]*\b(deg|degrees?|°|rad|radians?)\)?$/.exec(words.replace(/°$/, ' deg'));
  const angleText = column.unitText === null ? null : parseAngle(column.unitText);
  if (column.unit === null && angleText !== null)
    return { column, name: words, unit: angleText, quantity: 'angle', namedNegative };
  if (column.unit === null && angle !== null)
    return { column, name: angle[1].trim(), unit: parseAngle(angle[2]), quantity: 'angle', namedNegative };
  return { column, name: words, unit: column.unit, quantity: column.unit?.quantity ?? null, namedNegative };
}

function candidate(role: SpectrumRole, named: readonly Named[]): Named | undefined {
  const wanted = quantities[role];
  const fits = (one: Named): boolean => one.quantity === null || one.quantity === wanted;
  return (
    named.find((one) => fits(one) && names[role].test(one.name)) ??
    // Only a frequency and a temperature are recognised by their unit alone.
    (role === 'frequency' || role === 'temperature'
      ? named.find((one) => one.quantity === role && !/\b(max|min)\b/.test(one.name))
      : undefined)
  );
}

/** Whether a header is that of an impedance table: a frequency with real and imaginary part, or magnitude and phase. */
export function isSpectrumHeader(
  header: readonly string[],
  units: readonly (string | null)[],
  chosen: ColumnChoice = {},
): boolean {
  const named = nameColumns(header, units).map(nameOf);
  const has = (role: SpectrumRole): boolean =>
    typeof chosen[role] === 'string' || (chosen[role] !== null && candidate(role, named) !== undefined);
  return has('frequency') && ((has('real') && has('imaginary')) || (has('magnitude') && has('phase')));
}

/**
 * Decides which column of an impedance table is what: explicit choices first, then names and units. A resistance or a
 * phase without a unit refuses the table: 17 could be Ω or mΩ.
 *
 * @throws RefusedFile `missing-column`, `unknown-column`, `unknown-unit`
 */
export function planSpectrum(
  table: Pick<TableFile, 'header' | 'units' | 'dialect'>,
  options: SpectrumOptions = {},
): SpectrumPlan {
  const { header, units, dialect } = table;
  const named = nameColumns(header, units).map(nameOf);
  const warnings: string[] = [];
  const columns = new Map<SpectrumRole, SpectrumColumn>();
  for (const role of spectrumRoles) {
    const given = options.columns?.[role];
    if (given === null) continue;
    const found =
      given === undefined ? candidate(role, named) : named[requireColumn(header, given, dialect.headerLine)];
    if (found !== undefined) columns.set(role, takeColumn(role, found, options, table, warnings));
  }
  const form = columns.has('real') && columns.has('imaginary') ? 'cartesian' : 'polar';
  const needed: readonly SpectrumRole[] =
    form === 'cartesian' || columns.has('real') || columns.has('imaginary')
      ? ['frequency', 'real', 'imaginary']
      : ['frequency', 'magnitude', 'phase'];
  for (const role of needed) if (!columns.has(role)) throw missingColumn(role, table);
  for (const role of form === 'cartesian' ? (['magnitude', 'phase'] as const) : []) columns.delete(role);
  return { columns, form, warnings };
}

function takeColumn(
  role: SpectrumRole,
  found: Named,
  options: SpectrumOptions,
  { dialect }: Pick<TableFile, 'dialect'>,
  warnings: string[],
): SpectrumColumn {
  const { column, namedNegative } = found;
  const wanted = quantities[role];
  const givenText = options.units?.[role];
  let unit: AnyUnit | null = null;
  let unitFrom: ColumnMapping['unitFrom'] = null;
  if (wanted !== null) {
    const given =
      givenText === undefined ? null : wanted === 'angle' ? parseAngle(givenText) : parseUnit(givenText);
    const right = given !== null && (wanted === 'angle' || (given as Unit).quantity === wanted);
    if (givenText !== undefined && !right)
      throw unknownUnit(role, column.source, givenText, dialect.headerLine);
    unit = given ?? (found.quantity === wanted ? found.unit : null);
    unitFrom = given !== null ? 'given' : unit === null ? null : (column.unitFrom ?? 'header');
    if (unit === null && ['real', 'imaginary', 'magnitude', 'phase'].includes(role))
      throw unknownUnit(role, column.source, column.unitText, dialect.unitsLine ?? dialect.headerLine);
    if (unit === null && role !== 'soc') {
      unit = parseUnit({ frequency: 'Hz', charge: 'Ah', voltage: 'V', temperature: '°C' }[role as 'voltage']);
      unitFrom = 'assumed';
      warnings.push(`${role}: column "${column.source}" states no unit; ${unit?.symbol} was taken`);
    }
  }
  return {
    mapping: columnMapping(role, column, unit, unitFrom, false),
    unit,
    namedNegative,
  };
}

function missingColumn(role: SpectrumRole, table: Pick<TableFile, 'header' | 'dialect'>): RefusedFile {
  return new RefusedFile({
    code: 'missing-column',
    row: table.dialect.headerLine,
    column: role,
    reason: `No column is recognised as the ${words[role] ?? role} of the impedance`,
    expected:
      'An impedance table needs a frequency and real and imaginary part, or magnitude and phase; its columns are ' +
      `${table.header.map((name) => `"${name}"`).join(', ')}; say which one with --columns ${role}=NAME`,
  });
}

function unknownUnit(
  role: SpectrumRole,
  column: string,
  text: string | null,
  row: number | null,
): RefusedFile {
  const wanted = quantities[role];
  const known = wanted === 'angle' || wanted === null ? ['deg', 'rad'] : unitsOf(wanted);
  return new RefusedFile({
    code: 'unknown-unit',
    row,
    column,
    value: text,
    reason: text === null ? 'The column states no unit' : `Not a unit of ${wanted}`,
    expected: `Units understood are ${known.join(', ')}; give one with --units ${role}=UNIT`,
  });
}
