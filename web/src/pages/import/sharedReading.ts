import type { ImportOptions, ImportPreview } from '../../../../server/contract/import.ts';

/** What is said of one file alone and does not hold for another with the same header. */
const ofOneFile: ReadonlySet<keyof ImportOptions> = new Set([
  'cell',
  'label',
  'temperatureC',
  'startSoc',
  'stack',
  'cycle',
  'efc',
  'startedAt',
  'again',
]);

/** Whether two files have the same columns, or cannot be read for the same reason. */
export function sameShape(a: ImportPreview | null, b: ImportPreview | null): boolean {
  if (a === null || b === null) return false;
  if (a.header.length > 0 || b.header.length > 0) return a.header.join('\n') === b.header.join('\n');
  return a.refusal !== null && a.refusal.code === b.refusal?.code;
}

/**
 * The options of a file after what was said once changed from `before` to `after`: each change reaches the file unless
 * the file has something of its own there.
 */
export function withChange(
  options: ImportOptions,
  before: ImportOptions,
  after: ImportOptions,
): ImportOptions {
  const names = [...new Set([...Object.keys(before), ...Object.keys(after)])] as (keyof ImportOptions)[];
  const changed = names.filter(
    (name) => !same(before[name], after[name]) && same(options[name], before[name]),
  );
  if (changed.length === 0) return options;
  const kept = Object.entries(options).filter(([name]) => !changed.some((one) => one === name));
  const given = changed.flatMap((name) => (after[name] === undefined ? [] : [[name, after[name]] as const]));
  return Object.fromEntries([...kept, ...given]);
}

/** The same for a change that was made at another file with the same columns: only how it is read is shared. */
export function withReading(
  options: ImportOptions,
  before: ImportOptions,
  after: ImportOptions,
): ImportOptions {
  return withChange(options, readingOf(before), readingOf(after));
}

function readingOf(options: ImportOptions): ImportOptions {
  return Object.fromEntries(
    Object.entries(options).filter(([name]) => !ofOneFile.has(name as keyof ImportOptions)),
  );
}

const same = (a: unknown, b: unknown) => JSON.stringify(a) === JSON.stringify(b);
