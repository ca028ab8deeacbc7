import type { StoredPairing } from '../../../server/contract/pairings.ts';
import { say } from '../words/i18n.ts';

const reasons: Readonly<Record<StoredPairing['changedSince'][number]['reason'], string>> = {
  'import-undone': say('general.itsImportWasUndone'),
  'evaluated-again': say('general.evaluatedAgain'),
  'left-out': say('general.leftOutByAPerson'),
};

/** That values a decision was made by no longer hold. */
export function ChangedSince({ changed }: { changed: StoredPairing['changedSince'] }) {
  if (changed.length === 0) return null;
  const shown = changed.slice(0, 6).map((c) => `${c.cell} (${reasons[c.reason]})`);
  return (
    <p className="warning">
      {say('general.valuesThatTheseCellsWereCompared', { shown: shown.join(', ') })}
      {changed.length > 6 && say('general.andChangedMore', { changed: changed.length - 6 })}
      {say('general.whatWasProvenAndChosenDoes')}
    </p>
  );
}
