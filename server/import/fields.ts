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

/**
 * The number a field's text represents: plain decimal notation, with an exponent if need be.
 * Equals `Number()` of the text (with a decimal comma read as a point).
 *
 * @returns null where the text is anything else (a word, a grouped number, hexadecimal, nothing).
 */
export function parseNumber(text: string, decimal: '.' | ','): number | null {
  const clean = text.trim();
  if (!plainNumber[decimal].test(clean)) return null;
  return Number(decimal === ',' ? clean.replace(',', '.') : clean);
}

/** Texts that instruments write where there is no value. */
export function isMissingText(text: string): boolean {
  return /^(|-+|n\/?a|nan|null|none)$/i.test(text.trim());
}
