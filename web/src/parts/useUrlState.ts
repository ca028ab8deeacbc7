import { useCallback } from 'react';
import { useSearchParams } from 'react-router';

/**
 * A piece of a page's state that lives in its address, so that a link restores the view. The default value is not
 * written. Changing it replaces the entry in the history: going back leaves the page, not the last click.
 */
export function useUrlState(name: string, fallback = ''): [string, (value: string) => void] {
  const [search, setSearch] = useSearchParams();
  const set = useCallback(
    (value: string) =>
      setSearch(
        (old) => {
          const next = new URLSearchParams(old);
          if (value === fallback) next.delete(name);
          else next.set(name, value);
          return next;
        },
        { replace: true, preventScrollReset: true },
      ),
    [setSearch, name, fallback],
  );
  return [search.get(name) ?? fallback, set];
}
