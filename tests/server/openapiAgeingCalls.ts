import type { Context } from '../../server/context.ts';
import { inTransaction } from '../../server/context.ts';
import { ageingSettings } from '../../server/contract/ageingAssessment.ts';
import { assessAgeing } from '../../server/use-cases/ageing/assessAgeing.ts';
import { runSql } from '../support/sql.ts';
import type { FilledStore } from './exportStore.ts';
import type { ApiCall } from './openapiCalls.ts';

/** A dozen cycles of one cell, assessed, and the calls about them. */
export async function ageingCalls(context: Context, { lotId, cellIds }: FilledStore): Promise<ApiCall[]> {
  await inTransaction(context, async (context) => {
    for (let cycle = 1; cycle <= 12; cycle++) {
      await runSql(
        context.store,
        `INSERT INTO Measurement (cellId, quantity, unit, value, cycle, method, createdAt)
         VALUES (?, 'capacity', 'A.h', ?, ?, 'cycle table', ?)`,
        cellIds[0],
        2 - 0.01 * cycle,
        cycle,
        context.now().toISOString(),
      );
    }
  });
  await assessAgeing(context, lotId, ageingSettings.parse({}));
  return [
    {
      route: 'post /lots/{id}/ageing',
      path: { id: lotId },
      body: { endOfLife: ['80%-of-rated'] },
      status: 202,
    },
    { route: 'get /lots/{id}/ageing', path: { id: lotId }, query: { quantity: 'capacity' } },
    { route: 'get /cells/{id}/ageing', path: { id: cellIds[0] } },
  ];
}
