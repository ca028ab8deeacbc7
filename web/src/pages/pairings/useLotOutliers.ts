import { useQueries } from '@tanstack/react-query';
import { useMemo } from 'react';
import { api } from '../../api/ApiClient.ts';

/** The cells of lots that are outliers in a quantity that the lot page compares: column keys by cell id. */
export function useLotOutliers(lotIds: readonly number[]): ReadonlyMap<number, readonly string[]> {
  const results = useQueries({
    queries: lotIds.map((id) => ({
      queryKey: [`/lots/${id}/statistics`, {}],
      queryFn: ({ signal }: { signal: AbortSignal }) =>
        api.get('/lots/{id}/statistics', { params: { id }, signal }),
    })),
  });
  const stamp = results.map((r) => r.dataUpdatedAt).join(' ');
  // biome-ignore lint/correctness/useExhaustiveDependencies: the list of results is new at every call; the stamp says when they changed
  return useMemo(() => {
    const found = new Map<number, string[]>();
    for (const { data } of results)
      for (const column of data?.columns ?? [])
        for (const { cellId } of column.outliers)
          found.set(cellId, [...(found.get(cellId) ?? []), column.key]);
    return found;
  }, [stamp]);
}
