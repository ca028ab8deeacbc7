import { useCallback, useState } from 'react';

const kept = new Map<string, ReadonlySet<string>>();

/** The rows chosen in a table, kept while the pages are open, so that going to a cell and back loses nothing. */
export function useSelection(name: string): [ReadonlySet<string>, (chosen: ReadonlySet<string>) => void] {
  const [chosen, setChosen] = useState<ReadonlySet<string>>(() => kept.get(name) ?? new Set());
  const set = useCallback(
    (next: ReadonlySet<string>) => {
      kept.set(name, next);
      setChosen(next);
    },
    [name],
  );
  return [chosen, set];
}
