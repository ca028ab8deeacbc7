export interface RecordStretch {
  readonly from: number;
  readonly to: number;
}

/** The stretch that a text like `120-450.5` names, in seconds; null where it names none. */
export function windowOf(text: string): RecordStretch | null {
  const match = /^([\d.]+)-([\d.]+)$/.exec(text);
  if (match === null) return null;
  const from = Number(match[1]);
  const to = Number(match[2]);
  return Number.isFinite(from) && Number.isFinite(to) && to > from ? { from, to } : null;
}

/**
 * The stretch as text, to a thousandth of its width. One that hangs over an edge of the record is moved inside, so that
 * moving a chart against the edge does not zoom it.
 */
export function windowTextOf(from: number, to: number, end: number): string {
  const width = Math.min(Math.max(to - from, 0), end);
  const low = Math.max(0, Math.min(from, end - width));
  const digits = Math.min(6, Math.max(0, 3 - Math.floor(Math.log10(Math.max(width, 1e-6)))));
  return `${low.toFixed(digits)}-${(low + width).toFixed(digits)}`;
}
