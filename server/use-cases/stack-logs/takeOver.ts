import { type Context, inTransaction, nowText } from '../../context.ts';
import type { ChargeLogResult } from '../../contract/chargeLogResult.ts';
import type { StackLogEvaluation } from '../../contract/stackLogEvaluations.ts';
import { createSupplyPart, type SupplyPart } from '../../contract/supplyParts.ts';
import type { TakenHeat, TakenOver, TakenScale, TakeOver } from '../../contract/takenParameters.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { inOrder } from '../../inOrder.ts';
import { insertAudit } from '../../store/audit.ts';
import { insertFit } from '../../store/fits.ts';
import { insertMeasurements } from '../../store/measurements.ts';
import { linkStackLogs } from '../../store/stackLogFits.ts';
import { recountStates } from '../parameters/recountStates.ts';
import { heatQuantityOf, scaleQuantityOf, takenScalesOf } from '../parameters/takenScale.ts';
import { presentPart, storeSupplyPart } from '../supply-parts/keepSupplyPart.ts';
import { readStackLog } from './readStackLog.ts';
import { readStackLogEvaluation } from './readStackLogEvaluation.ts';

type Estimate = NonNullable<ChargeLogResult['fit']>['estimates'][number];
const FITTED = { capacity: 'capacityAh', r0: 'r0Factor', branches: 'branchFactor' } as const;

/**
 * Takes results of an evaluation of stack logs over into parameters: a capacity becomes a measurement of its cell at the age of the
 * newest log, factors of R0 and branches a fit that scales the cell's older circuit tables, heat capacity and transfer a fit that counts
 * before those of the cell type, resistances of stack, cable and converter a fit of the stack and next revisions of the kept parts. What
 * was there stays.
 *
 * @throws Refusal `not-found`; `conflict` where the evaluation is superseded or was made with other parameters than the stack's own;
 *   `not-evaluable` naming a value that has no interval or that the logs cannot separate from another
 */
export async function takeOverFromLogs(context: Context, fitId: number, asked: TakeOver): Promise<TakenOver> {
  const evaluation = await readStackLogEvaluation(context, fitId);
  if (evaluation.supersededAt !== null)
    throw new Refusal(
      'conflict',
      'A later evaluation has taken the place of this one, or an import was taken back.',
    );
  const cells = await inOrder(asked.cells, async (one) => cellToTake(context, evaluation, one));
  const resistance = asked.stackResistance ? supplyValue(evaluation, 'stackOhm') : null;
  const parts = await supplyParts(context, evaluation, asked);
  return inTransaction(context, async (tx) => {
    const fitIds: number[] = [];
    for (const cell of cells) {
      const { cellId, capacity, scale, heat } = cell;
      if (capacity !== null) fitIds.push(await storeCapacity(tx, evaluation, cellId, capacity));
      if (scale !== null)
        fitIds.push(
          await storeFit(tx, evaluation, { cellId, quantity: scaleQuantityOf(evaluation.id) }, scale),
        );
      if (heat !== null)
        fitIds.push(
          await storeFit(tx, evaluation, { cellId, quantity: heatQuantityOf(evaluation.id) }, heat),
        );
    }
    if (resistance !== null) {
      const result = {
        schemaVersion: 1,
        valueOhm: resistance.value,
        low: resistance.low,
        high: resistance.high,
      };
      fitIds.push(await storeFit(tx, evaluation, { stackId: evaluation.stackId }, result));
    }
    await insertAudit(tx.store, {
      at: nowText(tx),
      actor: tx.actor.name,
      action: 'stack-log.taken-over',
      subjectKind: 'stack',
      subjectId: evaluation.stackId,
      detail: { fitId, fits: fitIds.length, parts: parts.length },
    });
    const supplyParts: SupplyPart[] = await inOrder(parts, async ({ part, measured }) =>
      storeSupplyPart(tx, part, measured, fitId),
    );
    const capacities = cells.filter(({ capacity }) => capacity !== null).length;
    return { capacities, fitIds, supplyParts };
  });
}

interface CellToTake {
  readonly cellId: number;
  readonly capacity: Estimate | null;
  readonly scale: TakenScale | null;
  readonly heat: TakenHeat | null;
}

async function cellToTake(
  context: Context,
  evaluation: StackLogEvaluation,
  { cellId, quantities }: TakeOver['cells'][number],
): Promise<CellToTake> {
  const log = await readStackLog(context, evaluation.logIds[0]);
  const at = log.cells.findIndex((cell) => cell.cellId === cellId);
  if (at < 0)
    throw new Refusal('invalid-request', 'The evaluation has no such cell.', [
      fieldError(
        'cells',
        cellId,
        'is not in the stack that was logged',
        log.cells.map((c) => c.cellId).join(' or '),
      ),
    ]);
  const name = evaluation.inputs.description.cells[at].name;
  const of = (quantity: keyof typeof FITTED): Determined | null =>
    quantities.includes(quantity) ? estimateOf(evaluation, FITTED[quantity], name) : null;
  const [r0, branches] = [of('r0'), of('branches')];
  if (r0 !== null || branches !== null) {
    if (evaluation.inputs.study.from !== 'stack')
      throw new Refusal('conflict', 'The factors are of a study’s resistances and not of the cell’s own.', [
        fieldError(
          'cells',
          cellId,
          'the study was not drafted from the stack',
          'an evaluation with the stack’s own parameters',
        ),
      ]);
    const [newer] = await takenScalesOf(context, cellId);
    if (newer !== undefined && newer.fitId > evaluation.id)
      throw new Refusal('conflict', 'The cell’s resistances were changed after this evaluation.', [
        fieldError('cells', cellId, `fit ${newer.fitId} is later`, 'an evaluation made since'),
      ]);
  }
  const scale =
    r0 === null && branches === null
      ? null
      : { schemaVersion: 1 as const, r0Factor: factorOf(r0), branchFactor: factorOf(branches) };
  const heat = quantities.includes('heat')
    ? {
        schemaVersion: 1 as const,
        heatCapacityJPerK: withSpread(estimateOf(evaluation, 'heatCapacityJPerK', name)),
        heatTransferWPerK: withSpread(estimateOf(evaluation, 'heatTransferWPerK', name)),
      }
    : null;
  return { cellId, capacity: of('capacity'), scale, heat };
}

type Determined = Estimate & { readonly standardError: number };

function factorOf(estimate: Determined | null): TakenScale['r0Factor'] {
  return estimate === null ? null : withSpread(estimate);
}

function withSpread({ value, standardError }: Determined): TakenHeat['heatCapacityJPerK'] {
  return { value, standardUncertainty: standardError };
}

/** A fitted value that the logs determine. @throws Refusal `not-evaluable` */
function estimateOf(
  { result }: StackLogEvaluation,
  quantity: Estimate['quantity'],
  cell: string,
): Determined {
  const refuse = (why: string) =>
    new Refusal('not-evaluable', `${quantity} of ${cell} cannot be taken over: ${why}.`, [
      fieldError('cells', quantity, why, 'a value with an interval of its own'),
    ]);
  const found = result.fit?.estimates.find((one) => one.quantity === quantity && one.cell === cell);
  if (found === undefined) throw refuse('it was not fitted');
  const { standardError } = found;
  if (found.low === null || standardError === null) throw refuse(`it has no interval (${found.reason})`);
  // Evaluations of earlier versions gave such values an interval.
  if (found.reason !== null) throw refuse(`it is conditional (${found.reason})`);
  const like = result.fit?.inseparable.find(({ a, b }) =>
    [a, b].some((one) => one.quantity === quantity && one.cell === cell),
  );
  if (like !== undefined) throw refuse('the logs cannot separate it from another parameter');
  return { ...found, standardError };
}

/** A resistance of the first log. @throws Refusal `not-evaluable` where the log does not determine it */
function supplyValue(
  { result }: StackLogEvaluation,
  name: keyof ChargeLogResult['supply'],
): { value: number; low: number; high: number } {
  const { value, low, high, reason } = result.supply[name];
  if (value !== null && low !== null && high !== null && value > 0) return { value, low, high };
  throw new Refusal('not-evaluable', `${name} cannot be taken over.`, [
    fieldError(name, value, reason ?? 'is not above zero', 'a resistance that the log shows'),
  ]);
}

async function storeCapacity(
  context: Context,
  evaluation: StackLogEvaluation,
  cellId: number,
  capacity: Estimate,
): Promise<number> {
  const quantity = `capacity of logs ${evaluation.logIds.join(' ')}`;
  const { value, standardError } = capacity;
  const fitId = await storeFit(
    context,
    evaluation,
    { cellId, quantity },
    { schemaVersion: 1, value, standardError },
  );
  const logs = await inOrder(evaluation.logIds, async (id) => readStackLog(context, id));
  const newest = logs.reduce((best, log) => ((log.cycle ?? -1) >= (best.cycle ?? -1) ? log : best));
  await insertMeasurements(
    context.store,
    [
      {
        cellId,
        testId: null,
        fitId,
        sourceFileId: newest.sourceFileId,
        sourceRow: null,
        quantity: 'capacity',
        unit: 'A.h',
        value: capacity.value,
        standardUncertainty: capacity.standardError,
        reason: null,
        soc: null,
        temperatureC: newest.ambientTemperatureC,
        direction: 'charge',
        durationS: null,
        currentA: evaluation.result.conditions.currentA,
        cycle: newest.cycle,
        efc: newest.efc,
        method: 'fit of a measured charge',
        excludedReason: null,
        measuredAt: newest.startedAt,
      },
    ],
    nowText(context),
  );
  await recountStates(context.store, cellId);
  return fitId;
}

async function storeFit(
  context: Context,
  evaluation: StackLogEvaluation,
  subject: { readonly cellId: number; readonly quantity: string } | { readonly stackId: number },
  result: unknown,
): Promise<number> {
  const id = await insertFit(context.store, {
    kind: 'cellId' in subject ? 'charge-log-taken' : 'stack-resistance',
    ...subject,
    algorithm: 'charge-log',
    algorithmVersion: evaluation.algorithm,
    settings: {},
    inputs: { evaluation: evaluation.id, logs: evaluation.inputs.logs },
    result,
    createdAt: nowText(context),
    createdBy: context.actor.name,
  });
  await linkStackLogs(context.store, id, evaluation.logIds);
  return id;
}

/** Next revisions of the kept parts that are named, with what the log says of them. */
async function supplyParts(context: Context, evaluation: StackLogEvaluation, { converter, cable }: TakeOver) {
  const { cableOhm, converterOhm, fixedLossA } = evaluation.result.supply;
  const parts = [];
  if (cable !== undefined) {
    const present = await presentPart(context, 'cable', cable);
    const description = { ...present.description, resistanceOhm: supplyValue(evaluation, 'cableOhm').value };
    parts.push({
      part: createSupplyPart.parse({ kind: 'cable', name: cable, note: present.note, description }),
      measured: { fromLog: { cableOhm } },
    });
  }
  if (converter !== undefined) {
    const present = await presentPart(context, 'converter', converter);
    const stage = present.kind === 'converter' ? present.description.ratioStage : undefined;
    if (stage === undefined || typeof stage.paths !== 'number')
      throw new Refusal('conflict', `${converter} has no ratio stage of equal paths, which a log needs.`);
    const { efficiency: _e, operatingPoints: _o, ...rest } = stage;
    const ratioStage = {
      ...rest,
      // All paths together were measured; each of equal ones has so many times the resistance and its part of the fixed loss.
      outputResistanceOhm: supplyValue(evaluation, 'converterOhm').value * stage.paths,
      fixedLossCurrentA: Math.max(0, supplyValue(evaluation, 'fixedLossA').value) / stage.paths,
    };
    parts.push({
      part: createSupplyPart.parse({
        kind: 'converter',
        name: converter,
        note: present.note,
        ...(present.kind === 'converter' && present.temperatureLimitC !== null
          ? { temperatureLimitC: present.temperatureLimitC }
          : {}),
        description: { ...present.description, ratioStage },
      }),
      measured: { fromLog: { converterOhm, fixedLossA } },
    });
  }
  return parts;
}
