/** Splits one line into trimmed fields. Quoted fields may hold the delimiter; a doubled quote inside is one quote. */
export function splitFields(line: string, delimiter: string): string[] {
  if (!line.includes('"')) return line.split(delimiter).map((field) => field.trim());
  const fields: string[] = [];
  let at = 0;
  while (at <= line.length) {
    let start = at;
    while (line[start] === ' ') start++;
    if (line[start] === '"') {
      const { text, next } = readQuoted(line, start);
      const end = line.indexOf(delimiter, next);
      fields.push((text + line.slice(next, end < 0 ? undefined : end)).trim());
      if (end < 0) return fields;
      at = end + 1;
    } else {
      const end = line.indexOf(delimiter, at);
      fields.push(line.slice(at, end < 0 ? undefined : end).trim());
      if (end < 0) return fields;
      at = end + 1;
    }
  }
  return fields;
}

function readQuoted(line: string, start: number): { text: string; next: number } {
  let text = '';
  let at = start + 1;
  while (at < line.length) {
    const quote = line.indexOf('"', at);
    if (quote < 0) return { text: text + line.slice(at), next: line.length };
    text += line.slice(at, quote);
    if (line[quote + 1] !== '"') return { text, next: quote + 1 };
    text += '"';
    at = quote + 2;
  }
  return { text, next: line.length };
}

// No part may match the same digits in two ways, or a long field takes time with the square of its length.
const plainNumber = {
  '.': /^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?$/,
  ',': /^[+-]?(\d+(,\d*)?|,\d+)([eE][+-]?\d+)?$/,
};

/** Groups of three digits whose sign cannot be a decimal mark: an apostrophe, or a blank that does not break. */
const grouped = /^[+-]?\d{1,3}(?:(['’\u00a0\u202f])\d{3})(?:\1\d{3})*(?:[.,]\d*)?$/;
/** Groups by the other mark, where a decimal mark or a second group leaves no doubt. */
const groupedByMark = {
  '.': /^[+-]?\d{1,3}(?:(?:,\d{3})+\.\d*|(?:,\d{3}){2,})$/,
  ',': /^[+-]?\d{1,3}(?:(?:\.\d{3})+,\d*|(?:\.\d{3}){2,})$/,
};

/**
 * A field's text as `Number()` reads it: plain decimal notation, with an exponent if need be, or digits in groups of
 * three. One group by the mark that is not the file's decimal mark ("1,234") could be either, and is none.
 *
 * @returns null where the text is anything else (a word, hexadecimal, nothing).
 */
export function plainNumberText(text: string, decimal: '.' | ','): string | null {
  const clean = text.trim();
  if (plainNumber[decimal].test(clean)) return decimal === ',' ? clean.replace(',', '.') : clean;
  if (groupedByMark[decimal].test(clean))
    return decimal === ',' ? clean.replaceAll('.', '').replace(',', '.') : clean.replaceAll(',', '');
  if (!grouped.test(clean)) return null;
  const joined = clean.replace(/['’\u00a0\u202f]/g, '');
  return plainNumber[decimal].test(joined) ? joined.replace(',', '.') : null;
}

/**
 * The number a field's text represents, see {@link plainNumberText}; equals `Number()` of the text with a decimal comma
 * read as a point.
 */
export function parseNumber(text: string, decimal: '.' | ','): number | null {
  const plain = plainNumberText(text, decimal);
  return plain === null ? null : Number(plain);
}

/** Whether a text is one group of three digits behind a mark that could be a decimal mark as well. */
export function isGroupOrDecimal(text: string): boolean {
  return /^[+-]?\d{1,3}[.,]\d{3}$/.test(text.trim());
}

/** Texts that instruments write where there is no value. */
export function isMissingText(text: string): boolean {
  return /^(|-+|n\/?a|nan|null|none)$/i.test(text.trim());
}
