import { splitFields } from './fields.ts';

/** Whether a line begins as a remark of an instrument does. A row may do so too, where it begins with a word. */
export function isRemark(line: string): boolean {
  return /^\s*(#|%|\/\/)/.test(line);
}

/** The lines above the data, to recognise them where they are repeated within it. */
export interface HeadLines {
  /** Names of the columns; none where the file has no header. */
  readonly header: readonly string[];
  /** Fields of the units row as they stand; none where there is no such row. */
  readonly units: readonly string[];
  readonly delimiter: string;
}

/**
 * Why a line within the data is left out: it is a comment, or repeats the header (or units row).
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

/** Notes on the lines within the data that were left out. */
export class PassedLines {
  private readonly counts = { remark: 0, header: 0 };
  private readonly first = { remark: 0, header: 0 };

  note(what: 'remark' | 'header', line: number): void {
    if (this.counts[what]++ === 0) this.first[what] = line;
  }

  remarks(): string[] {
    const words = { remark: 'comment', header: 'repeated header' };
    return (['remark', 'header'] as const)
      .filter((what) => this.counts[what] > 0)
      .map((what) =>
        this.counts[what] === 1
          ? `1 ${words[what]} line within the data was left out, in line ${this.first[what]}`
          : `${this.counts[what]} ${words[what]} lines within the data were left out, the first in line ${this.first[what]}`,
      );
  }
}
