import type { StoredPairing } from '../../../server/contract/pairings.ts';

const reasons: Readonly<Record<StoredPairing['changedSince'][number]['reason'], string>> = {
  'import-undone': 'its import was undone',
  'evaluated-again': 'evaluated again',
  'left-out': 'left out by a person',
};

/** That values a decision was made by no longer hold. */
export function ChangedSince({ changed }: { changed: StoredPairing['changedSince'] }) {
  if (changed.length === 0) return null;
  const shown = changed.slice(0, 6).map((c) => `${c.cell} (${reasons[c.reason]})`);
  return (
    <p className="warning">
      Values that these cells were compared by have changed since: {shown.join(', ')}
      {changed.length > 6 && ` and ${changed.length - 6} more`}. What was proven and chosen does not hold for
      them: pair again, or check them.
    </p>
  );
}
