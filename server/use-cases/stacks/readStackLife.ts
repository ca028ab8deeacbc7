import { driftOf, type LoggedAge, r0Tracks } from '../../assess/stack-life/lifeOfLogs.ts';
import { tracksOf } from '../../assess/stack-life/lifeTracks.ts';
import { lifeVerdict } from '../../assess/stack-life/lifeVerdict.ts';
import type { Context } from '../../context.ts';
import { chargeLogResult } from '../../contract/chargeLogResult.ts';
import type { StackLife } from '../../contract/stackLife.ts';
import { stackLogInputs } from '../../contract/stackLogEvaluations.ts';
import { notFound } from '../../errors.ts';
import { inOrder } from '../../inOrder.ts';
import { findCell } from '../../store/cells.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { listCellMeasurements } from '../../store/measurements.ts';
import { listStackLogFits } from '../../store/stackLogFits.ts';
import { findStack } from '../../store/stacks.ts';
import { parseStored } from '../../store/storedJson.ts';

const USUAL_TEMPERATURE_C = 25;

/** Resistance, capacity and drift of a stack's cells over its cycles, from its tests and measured charges. @throws Refusal `not-found` */
export async function readStackLife(context: Pick<Context, 'store'>, stackId: number): Promise<StackLife> {
  const { store } = context;
  const stack = await findStack(store, stackId);
  if (stack === null) throw notFound('stack', stackId);
  const cells = await inOrder(stack.cells, async ({ cellId, serial }) => ({
    cellId,
    serial,
    measurements: await listCellMeasurements(store, cellId),
  }));
  const first = cells.length === 0 ? null : await findCell(store, cells[0].cellId);
  const type = first === null ? null : await findCellType(store, first.cellTypeId);
  const ages = latestOfEach(
    (await listStackLogFits(store, stackId)).map(({ id, inputsJson, resultJson }): LoggedAge => {
      const { logs, description } = parseStored(stackLogInputs, inputsJson, `inputs of evaluation ${id}`);
      return {
        logs,
        cells: description.cells,
        result: parseStored(chargeLogResult, resultJson, `result of evaluation ${id}`),
      };
    }),
  );
  const reference = { temperatureC: type?.referenceTemperatureC ?? USUAL_TEMPERATURE_C };
  const tracks = [...tracksOf(cells, reference), ...r0Tracks(cells, ages)];
  const drift = driftOf(cells, ages);
  return { stackId, verdict: lifeVerdict(tracks, drift), tracks, drift };
}

/** Of evaluations that share a log the latest counts, so that no charge counts twice. */
function latestOfEach(ages: readonly LoggedAge[]): LoggedAge[] {
  const taken = new Set<number>();
  const kept: LoggedAge[] = [];
  for (const age of [...ages].reverse()) {
    if (age.result.fit === null || age.logs.some(({ id }) => taken.has(id))) continue;
    for (const { id } of age.logs) taken.add(id);
    kept.unshift(age);
  }
  return kept;
}
