import { useQueries } from '@tanstack/react-query';
import { useMemo } from 'react';
import type { Test } from '../../../../server/contract/tests.ts';
import { api } from '../../api/ApiClient.ts';
import type { At, Given } from '../../api/endpointTypes.ts';
import type { ShownRecord } from '../../charts/recordPictures.ts';
import { say } from '../../words/i18n.ts';
import { testTitle } from './testColumns.tsx';

/** The same stretch of other tests, for drawing over the one in view. */
export function useOtherRecords(
  idText: string,
  query: NonNullable<Given<At<'GET', '/tests/{id}/series'>>['query']>,
  known: readonly Test[],
): readonly ShownRecord[] {
  const ids = useMemo(() => idText.split(',').filter((id) => /^\d+$/.test(id)), [idText]);
  const results = useQueries({
    queries: ids.map((id) => ({
      queryKey: [`/tests/${id}/series`, query],
      queryFn: ({ signal }: { signal: AbortSignal }) =>
        api.get('/tests/{id}/series', { params: { id }, query, signal }),
    })),
  });
  const stamp = results.map((r) => r.dataUpdatedAt).join(' ');
  // biome-ignore lint/correctness/useExhaustiveDependencies: the list of results is new at every call; the stamp says when they changed
  return useMemo(
    () =>
      results.flatMap((r, i): ShownRecord[] => {
        if (r.data === undefined) return [];
        const test = known.find((t) => String(t.id) === ids[i]);
        const column = (name: string) => r.data.columns.find((c) => c.name.startsWith(name))?.values;
        return [
          {
            name: test === undefined ? say('test.testIds', { ids: ids[i] }) : testTitle(test),
            timeS: r.data.timeS,
            voltageV: column('voltage') ?? [],
            currentA: column('current') ?? [],
            temperatureC: column('temperature') ?? null,
          },
        ];
      }),
    [stamp, ids, known],
  );
}
