import type { ColumnRole } from '../contract/columnRoles.ts';
import { isMissingText } from './fields.ts';
import { serialOrChannelNames } from './recognise/serials.ts';
import { plainName } from './recognise/words.ts';
import type { Quantity } from './units.ts';
import { parseUnit, splitHeader } from './units.ts';

/** A header name taken apart. `unitText` is what the file says, understood or not. */
export interface NamedColumn {
  readonly index: number;
  readonly source: string;
  /** Lower case, words separated by one blank, unit taken off. */
  readonly name: string;
  readonly unit: ReturnType<typeof parseUnit>;
  readonly unitText: string | null;
  readonly unitFrom: 'header' | 'units-row' | null;
}

/** Splits names and units of a header; a units row outranks the header's own text. */
export function nameColumns(header: readonly string[], units: readonly (string | null)[]): NamedColumn[] {
  return header.map((source, index) => {
    const split = splitHeader(source);
    const fromRow = units[index] == null ? null : parseUnit(units[index]);
    const unit = fromRow ?? split.unit;
    const name = plainName(split.unit !== null || split.unitText !== null ? split.name : source);
    const unitFrom = fromRow !== null ? 'units-row' : split.unit !== null ? 'header' : null;
    return { index, source, name, unit, unitText: units[index] ?? split.unitText, unitFrom };
  });
}

interface Rule {
  readonly quantity: Quantity | null;
  /** Names that mean the role by themselves. */
  readonly names: readonly string[];
  /** A word that must be in the name otherwise. */
  readonly word: RegExp;
  /** Words that may stand beside it without harm. */
  readonly harmless: RegExp;
}

const rules: Readonly<Record<'time' | 'voltage' | 'current' | 'temperature' | 'step' | 'cycle', Rule>> = {
  time: {
    quantity: 'time',
    names: [
      'time',
      't',
      'elapsed',
      'elapsed time',
      'test time',
      'total time',
      'seconds',
      'date time',
      'datetime',
      'timestamp',
      'date',
    ],
    word: /\b(time|elapsed)\b/,
    harmless: /\b(test|total|elapsed|run|record|time)\b/g,
  },
  voltage: {
    quantity: 'voltage',
    names: ['voltage', 'v', 'u', 'volt', 'volts', 'cell voltage', 'terminal voltage', 'potential'],
    word: /\b(voltage|volts?|potential|spannung)\b/,
    harmless: /\b(cell|terminal|battery|measured|actual|voltage|volts?|potential|spannung)\b/g,
  },
  current: {
    quantity: 'current',
    names: ['current', 'i', 'amps', 'cell current'],
    word: /\b(current|amps?|amperes?|strom)\b/,
    harmless: /\b(cell|terminal|battery|measured|actual|current|amps?|strom)\b/g,
  },
  temperature: {
    quantity: 'temperature',
    names: [
      'temperature',
      'temp',
      't',
      'cell temperature',
      'surface temperature',
      'cell temp',
      't cell',
      't1',
    ],
    word: /\b(temperature|temp|temperatur)\b/,
    harmless: /\b(cell|surface|battery|measured|can|skin|1|temperature|temp|temperatur)\b/g,
  },
  step: {
    quantity: null,
    names: ['step', 'step number', 'step index', 'step id', 'step no'],
    word: /^$/,
    harmless: /$/g,
  },
  cycle: {
    quantity: null,
    names: ['cycle', 'cycle number', 'cycle index', 'cycle id', 'cycle no', 'loop'],
    word: /^$/,
    harmless: /$/g,
  },
};

/** A column of such a name belongs to a table of results or settings, not to a sample series. */
const summary =
  /\b(min|max|mean|median|average|avg|start|end|cutoff|limit|set|setpoint|target|nominal|rated|ocv|ambient)\b/;

const runNames =
  /^(run|run id|run number|run no|test|test id|test number|test no|stage|((dis)?charge|run|test) (index|number|no|run))$/;

/** Columns that could have a role, best first, with equal best ones ranked by `score`. */
export function candidatesFor(
  role: keyof typeof rules,
  columns: readonly NamedColumn[],
): { column: NamedColumn; score: number }[] {
  const rule = rules[role];
  const found: { column: NamedColumn; score: number }[] = [];
  for (const column of columns) {
    const { unit, name } = column;
    if (unit !== null && unit.quantity !== rule.quantity) continue;
    let score = 0;
    if (rule.names.includes(name)) score = 100 - rule.names.indexOf(name);
    else if (rule.word.test(name)) {
      const others = name.replace(rule.harmless, '').split(' ').filter(Boolean).length;
      score = 60 - 20 * others;
    } else if (unit !== null && rule.quantity !== null) score = 5;
    // A bare "t" is time or temperature only by its unit or its case.
    if (name === 't' && unit === null) score = (column.source.trim() === 't') === (role === 'time') ? 50 : 0;
    if (summary.test(name)) score = role === 'temperature' ? score - 40 : 0;
    if (score > 0) found.push({ column, score });
  }
  return found.sort((a, b) => b.score - a.score || a.column.index - b.column.index);
}

/**
 * Columns whose change of value begins another run: a cell's serial or channel, a run or test number.
 * A column that changes in every one of the first rows is a counter, not a key.
 */
export function keyColumns(
  columns: readonly NamedColumn[],
  firstRows: readonly (readonly string[])[],
): { cell: NamedColumn[]; run: NamedColumn[] } {
  const isKey = (column: NamedColumn): boolean => {
    let changes = 0;
    for (let i = 1; i < firstRows.length; i++) {
      if (firstRows[i][column.index] !== firstRows[i - 1][column.index]) changes++;
    }
    return firstRows.length < 4 || changes * 2 < firstRows.length;
  };
  const fits = (pattern: RegExp): NamedColumn[] =>
    columns.filter((c) => c.unit === null && pattern.test(c.name));
  // A channel may change on every row (interleaved cells) and still be a key.
  return { cell: fits(serialOrChannelNames), run: fits(runNames).filter(isKey) };
}

/** Whether a column's first values are numbers throughout (missing ones allowed), with at least one. */
export function isNumeric(
  index: number,
  firstRows: readonly (readonly string[])[],
  parse: (text: string) => number | null,
): boolean {
  let numbers = 0;
  for (const row of firstRows) {
    const text = row[index] ?? '';
    if (parse(text) !== null) numbers++;
    else if (!isMissingText(text)) return false;
  }
  return numbers > 0;
}

/** For messages: which roles are required of a record. */
export const requiredRoles: readonly ColumnRole[] = ['time', 'voltage', 'current'];
