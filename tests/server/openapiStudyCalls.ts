import type { Context } from '../../server/context.ts';
import { draftChargeStudy } from '../../server/use-cases/charging/draftChargeStudy.ts';
import { keepChargeStudy } from '../../server/use-cases/charging/keepChargeStudy.ts';
import type { FilledStore } from './exportStore.ts';
import type { ApiCall } from './openapiCalls.ts';

/** Calls about charge studies: a draft of a stack, the plain computation, a kept one that is removed. */
export async function studyCalls(context: Context, { stackId }: FilledStore): Promise<ApiCall[]> {
  const { description } = await draftChargeStudy(context, { stackId });
  const kept = await keepChargeStudy(context, { name: 'kept', description, stackId });
  return [
    { route: 'post /charge-studies/draft', body: { stackId } },
    {
      route: 'post /charge-studies/compute',
      body: { description: { ...description, questions: { seriesStepS: 60, stackOnly: true } } },
    },
    { route: 'post /charge-studies', body: { name: 'removed', description, stackId }, status: 201 },
    { route: 'get /charge-studies', query: { stackId } },
    { route: 'get /charge-studies/{id}', path: { id: kept.id } },
    {
      route: 'delete /charge-studies/{id}',
      path: { id: kept.id + 1 },
      headers: { 'If-Match': '"1"' },
      status: 204,
    },
  ];
}
