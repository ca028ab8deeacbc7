import { useCallback, useRef } from 'react';

interface Versioned {
  readonly id: number;
  readonly version: number;
}

/**
 * Changes things that a page shows by their version. One's own change is known before the page has read it again, and
 * changes of one thing follow each other, so that no change of one's own is reported as a conflict with somebody else.
 *
 * @returns gives `change` the version to change from, and hands on what it answers
 */
export function useOwnVersions(): <T extends { readonly version: number }>(
  thing: Versioned,
  change: (version: number) => Promise<T>,
) => Promise<T> {
  const known = useRef(new Map<number, number>());
  const last = useRef(new Map<number, Promise<unknown>>());
  return useCallback((thing, change) => {
    const before = last.current.get(thing.id) ?? Promise.resolve();
    const run = before
      .catch(() => undefined)
      .then(async () => {
        const changed = await change(Math.max(thing.version, known.current.get(thing.id) ?? 0));
        known.current.set(thing.id, changed.version);
        return changed;
      });
    last.current.set(thing.id, run);
    return run;
  }, []);
}
