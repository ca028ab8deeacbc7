import { useQueries } from '@tanstack/react-query';
import { useMemo } from 'react';
import type { LotColumns } from '../../../../server/contract/lots.ts';
import type { MeasurementColumn } from '../../../../server/contract/measurements.ts';
import { api } from '../../api/ApiClient.ts';

/** What is measured on the cells of several lots together, or null until all have answered. */
export function useLotColumns(lotIds: readonly number[]): LotColumns | null {
  const results = useQueries({
    queries: lotIds.map((id) => ({
      queryKey: [`/lots/${id}/columns`, {}],
      queryFn: ({ signal }: { signal: AbortSignal }) =>
        api.get('/lots/{id}/columns', { params: { id }, signal }),
    })),
  });
  const stamp = results.map((r) => r.dataUpdatedAt).join(' ');
  // biome-ignore lint/correctness/useExhaustiveDependencies: the list of results is new at every call; the stamp says when they changed
  return useMemo(() => {
    const answers = results.flatMap((r) => (r.data === undefined ? [] : [r.data]));
    return answers.length === 0 || answers.length < lotIds.length ? null : merged(answers);
  }, [stamp, lotIds]);
}

/** The columns of all lots, each with the count of cells that have it. */
export function merged(answers: readonly LotColumns[]): LotColumns {
  const columns = new Map<string, MeasurementColumn>();
  for (const answer of answers) {
    for (const column of answer.columns) {
      const known = columns.get(column.key);
      columns.set(column.key, { ...column, cellCount: column.cellCount + (known?.cellCount ?? 0) });
    }
  }
  return {
    columns: [...columns.values()],
    suggested: [...new Set(answers.flatMap((a) => a.suggested))],
    // As the run does, which takes the columns of its first lot.
    purposes: answers[0]?.purposes ?? [],
    notCompared: answers.flatMap((answer) => answer.notCompared),
  };
}
