const beginning = /\b(?:start(?:ed)?|begin|begun|began)\b/i;
const dated = /\b(?:date|time)\b/i;
const ending = /\b(?:end|stop|finish)/i;
/** Words that say of a date or time that it is something else's than the record's beginning. */
const otherwise =
  /\b(?:calibrat|due\b|export|print|report|creat|sav(?:e|ed|ing)\b|writ|modif|chang|expir|manufactur|produc|install|release|version)/i;
const instant =
  /(?<!\d)(\d{4})[-/](\d\d)[-/](\d\d)[ T]+(\d\d):(\d\d)(?::(\d\d)(?:[.,](\d+))?)?\s*(Z|UTC|[+-]\d\d:?\d\d)?(?!\d)/;

/**
 * When a record began, from the lines above its header: the one instant, year first, on a line that says start or begin,
 * or that says date or time and not that it is that of something else, as a calibration or an export. As with columns of
 * instants, UTC where the line states no offset. An ISO 8601 instant in UTC, or null where there is no such line or
 * several that differ.
 */
export function startInPreamble(preamble: readonly string[]): string | null {
  const found = new Set<string>();
  for (const line of preamble) {
    if (ending.test(line)) continue;
    if (!beginning.test(line) && !(dated.test(line) && !otherwise.test(line))) continue;
    const match = instant.exec(line);
    const start = match === null ? null : instantOf(match);
    if (start !== null) found.add(start);
  }
  return found.size === 1 ? [...found][0] : null;
}

function instantOf(match: RegExpExecArray): string | null {
  const [, year, month, day, hour, minute, second, fraction, offset] = match;
  const zone = offset === undefined || offset === 'UTC' ? 'Z' : offset;
  const wall = `${year}-${month}-${day}T${hour}:${minute}:${second ?? '00'}`;
  const local = new Date(`${wall}Z`);
  // Date would carry a 30 February into March: it is not an instant.
  if (Number.isNaN(local.getTime()) || local.toISOString().slice(0, 19) !== wall) return null;
  const at = new Date(
    `${wall}.${(fraction ?? '').slice(0, 3).padEnd(3, '0')}${zone.replace(/^([+-]\d\d)(\d\d)$/, '$1:$2')}`,
  );
  return Number.isNaN(at.getTime()) ? null : at.toISOString();
}
