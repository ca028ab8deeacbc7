import type { Context } from '../../server/context.ts';
import { findStack } from '../../server/store/stacks.ts';
import { importStackLogText } from '../support/loggedStack.ts';
import { stackLogRows, stackLogText, usualBench, usualTruth } from '../support/stackLog.ts';
import type { FilledStore } from './exportStore.ts';
import type { ApiCall } from './openapiCalls.ts';

/** Calls about the measured charges of a stack. */
export async function stackLogCalls(context: Context, { stackId }: FilledStore): Promise<ApiCall[]> {
  const stack = (await findStack(context.store, stackId))?.name ?? '';
  const text = stackLogText(stackLogRows(usualTruth, usualBench(31)));
  const { stackLogId } = await importStackLogText(context, text, { stack, cycle: 10 });
  const path = { id: stackLogId ?? 0 };
  return [
    { route: 'get /stack-logs', query: { stackId } },
    { route: 'get /stack-logs/{id}', path },
    { route: 'get /stack-logs/{id}/series', path },
  ];
}
