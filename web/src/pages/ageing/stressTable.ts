import type { AgeingSettingsInput } from '../../../../server/contract/ageingAssessment.ts';
import { say } from '../../words/i18n.ts';

export type StressSettings = NonNullable<AgeingSettingsInput['stress']>;

export interface StressTable {
  /** null where there is no table, or one that cannot be used. */
  readonly settings: StressSettings | null;
  /** What is wrong, with the row and what would be right. */
  readonly problems: readonly string[];
}

const most = 6;

/**
 * Reads a pasted table: a head `cell`, then one condition each, as `name (unit)`; below it a row for each cell with its
 * serial and numbers. Columns are parted by tabs, semicolons or commas.
 */
export function readStressTable(text: string, idOfSerial: ReadonlyMap<string, number>): StressTable {
  const lines = text.split(/\r?\n/).flatMap((line, i) => (line.trim() === '' ? [] : [{ line, row: i + 1 }]));
  if (lines.length === 0) return { settings: null, problems: [] };
  const separator = ['\t', ';', ','].find((s) => lines[0].line.includes(s)) ?? ',';
  const parts = (line: string) => line.split(separator).map((p) => p.trim());
  const terms = parts(lines[0].line).slice(1).map(termOf);
  const problems: string[] = [];
  if (terms.length === 0 || terms.length > most || terms.some((t) => t.name === '')) {
    problems.push(say('ageing.theFirstRowMustBeCell', { most }));
  }
  if (lines.length === 1) problems.push(say('ageing.belowTheFirstRowThereMust'));
  const cells = lines.slice(1).flatMap(({ line, row }) => {
    const [serial, ...typed] = parts(line);
    const cellId = idOfSerial.get(serial);
    if (cellId === undefined) {
      problems.push(say('ageing.rowRowNoCellSerialIn', { row, serial }));
      return [];
    }
    const values = typed.map((t) => (t === '' ? Number.NaN : Number(t)));
    const wrong = values.findIndex((v) => !Number.isFinite(v));
    if (values.length !== terms.length) {
      problems.push(
        say('ageing.rowRowValuesValuesWhereThe', { row, values: values.length, terms: terms.length }),
      );
    } else if (wrong >= 0) {
      problems.push(
        say('ageing.rowRowNameTypedIsNot', { row, name: terms[wrong].name, typed: typed[wrong] }),
      );
    }
    return [{ cellId, values }];
  });
  const twice = cells.find((c, i) => cells.findIndex((d) => d.cellId === c.cellId) < i);
  if (twice !== undefined) problems.push(say('ageing.aCellStandsInMoreThan'));
  return { settings: problems.length === 0 ? { terms, cells } : null, problems };
}

/** `Temperature (°C)` as a name and a unit; without brackets there is no unit. */
function termOf(head: string): { name: string; unit: string } {
  const found = /^(.*?)\s*\(([^()]*)\)$/.exec(head);
  return found === null ? { name: head, unit: '' } : { name: found[1].trim(), unit: found[2].trim() };
}
