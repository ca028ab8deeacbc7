/** A set of whole numbers as text for an address: `5-52,60`. */
export function rangesOf(ids: Iterable<number>): string {
  const sorted = [...new Set(ids)].sort((a, b) => a - b);
  const parts: string[] = [];
  for (let i = 0; i < sorted.length; ) {
    let end = i;
    while (end + 1 < sorted.length && sorted[end + 1] === sorted[end] + 1) end++;
    parts.push(end > i ? `${sorted[i]}-${sorted[end]}` : `${sorted[i]}`);
    i = end + 1;
  }
  return parts.join(',');
}

/** The numbers of such a text; what cannot be read, or would be more than 20,000 numbers, is left out. */
export function idsOfRanges(text: string): number[] {
  const ids: number[] = [];
  for (const part of text.split(',')) {
    const match = /^(\d{1,15})(?:-(\d{1,15}))?$/.exec(part.trim());
    if (match === null) continue;
    const from = Number(match[1]);
    const to = match[2] === undefined ? from : Number(match[2]);
    if (to < from || ids.length + (to - from) >= 20_000) continue;
    for (let id = from; id <= to; id++) ids.push(id);
  }
  return ids;
}
