import { splitFields } from './fields.ts';

/** Whether a line begins as a remark of an instrument does. A row may do so too, where it begins with a word. */
export function isRemark(line: string): boolean {
  return /^\s*(#|%|\/\/)/.test(line);
}

/** The lines above the data by which they are known again below. */
export interface HeadLines {
  /** Names of the columns; none where the file has no header. */
  readonly header: readonly string[];
  /** Fields of the units row as they stand; none where there is no such row. */
  readonly units: readonly string[];
  readonly delimiter: string;
}

/**
 * Why a line amid the data is passed over: it is a remark, or the header (or units row) once more.
 *
 * @param numberFirst whether a row begins with a number; where not, a row may begin with a remark's sign as well
 * @returns null for a row
 */
export function passedOver(
  line: string,
  { header, units, delimiter }: HeadLines,
  numberFirst: boolean,
): 'remark' | 'header' | null {
  const remark = isRemark(line);
  if (remark && numberFirst) return 'remark';
  const begins = line.trimStart().replace(/^"/, '');
  if (!remark && ![header[0], units[0]].some((name) => name !== undefined && begins.startsWith(name)))
    return null;
  const fields = splitFields(line, delimiter);
  while (fields.length > header.length && fields[fields.length - 1] === '') fields.pop();
  while (fields.length < header.length && header[fields.length] === '') fields.push('');
  if (fields.length !== header.length) return remark ? 'remark' : null;
  const alike = (names: readonly string[]): boolean =>
    names.length > 0 && fields.every((field, i) => field === names[i]);
  return alike(header) || (units.some((unit) => unit !== '') && alike(units)) ? 'header' : null;
}

/** One note for the lines amid the data that were passed over. */
export class PassedLines {
  private readonly counts = { remark: 0, header: 0 };
  private readonly first = { remark: 0, header: 0 };

  note(what: 'remark' | 'header', line: number): void {
    if (this.counts[what]++ === 0) this.first[what] = line;
  }

  remarks(): string[] {
    const words = { remark: ['remark', 'remarks'], header: ['header once more', 'headers once more'] };
    return (['remark', 'header'] as const)
      .filter((what) => this.counts[what] > 0)
      .map(
        (what) =>
          `${this.counts[what]} ${this.counts[what] === 1 ? 'line' : 'lines'} amid the data left out, ` +
          `${words[what][this.counts[what] === 1 ? 0 : 1]}: the first is line ${this.first[what]}`,
      );
  }
}
