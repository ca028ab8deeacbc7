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

/** Whether the voltage of a file moves against its current at most of its steps. */
function isReversed(preview: ImportPreview | null): boolean {
  return preview?.signCheck?.verdict === 'reversed';
}

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

/**
 * The same for a change that was made at another file with the same columns: only how it is read is shared. The sign of the
 * current goes by how a channel is wired and not by the columns: it reaches files whose own voltage contradicts theirs.
 */
export function withReading(
  { options, preview }: { readonly options: ImportOptions; readonly preview: ImportPreview | null },
  before: ImportOptions,
  after: ImportOptions,
): ImportOptions {
  const shared = (all: ImportOptions): ImportOptions =>
    Object.fromEntries(
      Object.entries(all).filter(
        ([name]) =>
          !ofOneFile.has(name as keyof ImportOptions) && (name !== 'currentSign' || isReversed(preview)),
      ),
    );
  return withChange(options, shared(before), shared(after));
}

const same = (a: unknown, b: unknown) => JSON.stringify(a) === JSON.stringify(b);
