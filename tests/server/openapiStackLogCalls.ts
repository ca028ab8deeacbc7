import type { Context } from '../../server/context.ts';
import { openLiveLog as openLiveLogBody } from '../../server/contract/liveStackLogs.ts';
import { evaluateStackLogs as evaluateBody } from '../../server/contract/stackLogEvaluations.ts';
import { createSupplyPart } from '../../server/contract/supplyParts.ts';
import { findStack } from '../../server/store/stacks.ts';
import { openLiveLog } from '../../server/use-cases/imports/liveStackLog.ts';
import { evaluateStackLogs } from '../../server/use-cases/stack-logs/evaluateStackLogs.ts';
import { keepSupplyPart } from '../../server/use-cases/supply-parts/keepSupplyPart.ts';
import { importStackLogText } from '../support/loggedStack.ts';
import {
  logHeader,
  logStudy,
  stackLogRows,
  stackLogText,
  usualBench,
  usualTruth,
} from '../support/stackLog.ts';
import type { FilledStore } from './exportStore.ts';
import type { ApiCall } from './openapiCalls.ts';

/** Calls about the measured charges of a stack. */
export async function stackLogCalls(context: Context, { stackId }: FilledStore): Promise<ApiCall[]> {
  const stack = (await findStack(context.store, stackId))?.name ?? '';
  const text = stackLogText(stackLogRows(usualTruth, usualBench(31)));
  const { stackLogId } = await importStackLogText(context, text, { stack, cycle: 10 });
  const path = { id: stackLogId ?? 0 };
  const evaluation = await evaluateStackLogs(
    context,
    evaluateBody.parse({ logIds: [path.id], description: logStudy(), fit: ['r0'] }),
  );
  const part = await keepSupplyPart(
    context,
    createSupplyPart.parse({
      kind: 'converter',
      name: 'half ratio',
      temperatureLimitC: 85,
      description: {
        ratioStage: {
          ratio: 2,
          maxPathCurrentA: 6,
          operatingPoints: {
            points: [
              { outputVoltageV: 8, outputCurrentA: 1, inputVoltageV: 16.03, inputCurrentA: 0.52 },
              { outputVoltageV: 8, outputCurrentA: 5, inputVoltageV: 16.15, inputCurrentA: 2.52 },
            ],
          },
        },
      },
    }),
  );
  const live = await openLiveLog(context, stackId, openLiveLogBody.parse({ header: logHeader.split(',') }));
  return [
    {
      route: 'post /stacks/{id}/live-logs',
      path: { id: stackId },
      body: { header: logHeader.split(','), cycle: 3 },
      status: 201,
    },
    { route: 'get /stacks/{id}/live-logs', path: { id: stackId } },
    { route: 'get /live-logs/{id}', path: { id: live.id } },
    {
      route: 'post /live-logs/{id}/rows',
      path: { id: live.id },
      body: { firstRow: 0, rows: [[0, 3.5, 3.5, 0, 7, 14, 0]] },
      headers: { 'Idempotency-Key': 'first' },
    },
    // One row is not a charge: what is refused stays open.
    { route: 'post /live-logs/{id}/close', path: { id: live.id }, status: 422 },
    { route: 'get /stacks/{id}/life', path: { id: stackId } },
    { route: 'get /stack-logs', query: { stackId } },
    { route: 'get /stack-logs/{id}', path },
    { route: 'get /stack-logs/{id}/series', path },
    { route: 'get /stack-logs/{id}/operating-points', path },
    {
      route: 'post /stack-log-evaluations',
      body: { logIds: [path.id], description: logStudy(), fit: ['r0'] },
      status: 202,
    },
    { route: 'get /stack-log-evaluations', query: { stackId } },
    { route: 'get /stack-log-evaluations/{id}', path: { id: evaluation } },
    {
      route: 'post /stack-log-evaluations/{id}/take-over',
      path: { id: evaluation },
      body: { stackResistance: true, converter: 'half ratio' },
      status: 201,
    },
    {
      route: 'post /operating-points',
      raw: { type: 'text/csv', bytes: Buffer.from('V out,I out,V in,I in\n8,2,16.1,1.03\n8,6,16.2,3.03\n') },
    },
    { route: 'get /supply-parts', query: { kind: 'cable' } },
    {
      route: 'post /supply-parts',
      body: { kind: 'cable', name: 'bench cable', description: { resistanceOhm: 0.05 } },
      status: 201,
    },
    { route: 'get /supply-parts/{id}', path: { id: part.id } },
    { route: 'delete /supply-parts/{id}', path: { id: part.id + 1 }, status: 204 },
  ];
}
