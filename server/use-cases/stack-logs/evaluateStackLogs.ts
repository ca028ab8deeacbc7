import { evaluateChargeLogs, type LogToEvaluate } from '../../assess/charge-log/evaluateChargeLogs.ts';
import { type Context, inTransaction, nowText } from '../../context.ts';
import { CHARGE_LOG_ALGORITHM } from '../../contract/chargeLogResult.ts';
import type { EvaluateStackLogs, StackLogEvaluation } from '../../contract/stackLogEvaluations.ts';
import type { StackLog } from '../../contract/stackLogs.ts';
import { fieldError, Refusal } from '../../errors.ts';
import type { ChargeLogRole } from '../../import/chargeLogColumns.ts';
import { chargeLogOf } from '../../import/chargeLogTable.ts';
import { inOrder } from '../../inOrder.ts';
import { insertAudit } from '../../store/audit.ts';
import { insertFit } from '../../store/fits.ts';
import { findSourceFile } from '../../store/sourceFiles.ts';
import { linkStackLogs } from '../../store/stackLogFits.ts';
import { readStackLogValues } from '../../store/stackLogs.ts';
import type { Store } from '../../store/store.ts';
import { draftChargeStudy } from '../charging/draftChargeStudy.ts';
import { readChargeStudy } from '../charging/readChargeStudy.ts';
import { noteStackDrift } from '../stacks/noteStackDrift.ts';
import { readStackLog } from './readStackLog.ts';

type Study = StackLogEvaluation['inputs']['study'] & Pick<StackLogEvaluation['inputs'], 'description'>;

/**
 * Sets logs of one stack beside a study, fits what is asked, and stores the result; an earlier result of the same logs is kept
 * as superseded.
 *
 * @param tell receives the share done; may throw to stop, and nothing is stored then
 * @param note is called in the transaction that stores the result
 * @throws Refusal `not-found`, `not-evaluable`, `cannot-study`, `invalid-request` where the logs are not of one stack
 */
export async function evaluateStackLogs(
  context: Context,
  request: EvaluateStackLogs,
  tell: (share: number) => void = () => {},
  note: (tx: Store, fitId: number) => Promise<void> = async () => {},
): Promise<number> {
  const { logIds, studyId, description: given, source, cable, converter, ...settings } = request;
  const logs = await logsOfOneStack(context, logIds);
  const { description, ...study } = await studyOf(context, request, logs[0].stackId);
  const reads = await inOrder(logs, async (log) => logToEvaluate(context, log));
  const result = evaluateChargeLogs(reads, description, settings, tell);
  const sources = await inOrder(logs, async (log) => ({
    id: log.id,
    fileName: log.fileName,
    sha256: (await findSourceFile(context.store, log.sourceFileId))?.sha256 ?? '',
    cycle: log.cycle,
  }));
  tell(0.98);
  const createdAt = nowText(context);
  return inTransaction(context, async (tx) => {
    const { store, actor } = tx;
    const ids = logs.map(({ id }) => id);
    const fitId = await insertFit(store, {
      kind: 'charge-log',
      quantity: `logs ${[...ids].sort((a, b) => a - b).join(' ')}`,
      stackId: logs[0].stackId,
      algorithm: 'charge-log',
      algorithmVersion: CHARGE_LOG_ALGORITHM,
      settings,
      inputs: { logs: sources, study, description },
      result,
      createdAt,
      createdBy: actor.name,
    });
    await linkStackLogs(store, fitId, ids);
    await noteStackDrift(tx, logs[0].stackId);
    await insertAudit(store, {
      at: createdAt,
      actor: actor.name,
      action: 'stack-log.evaluated',
      subjectKind: 'stack',
      subjectId: logs[0].stackId,
      detail: { fitId, logs: ids.join(', ') },
    });
    await note(store, fitId);
    return fitId;
  });
}

async function logsOfOneStack(context: Context, logIds: readonly number[]): Promise<StackLog[]> {
  const twice = logIds.find((id, i) => logIds.indexOf(id) < i);
  if (twice !== undefined)
    throw new Refusal('invalid-request', 'A log is named twice.', [
      fieldError('logIds', twice, 'is named twice', 'every log once'),
    ]);
  const logs = await inOrder(logIds, async (id) => readStackLog(context, id));
  const undone = logs.find(({ state }) => state === 'undone');
  if (undone !== undefined)
    throw new Refusal('not-evaluable', 'The import of a log was taken back.', [
      fieldError('logIds', undone.id, 'its import was taken back', 'a log that is kept'),
    ]);
  const cells = (log: StackLog) => log.cells.map(({ cellId }) => cellId).join(' ');
  const other = logs.find((log) => log.stackId !== logs[0].stackId || cells(log) !== cells(logs[0]));
  if (other !== undefined)
    throw new Refusal('invalid-request', 'Logs are evaluated together where they are of one stack.', [
      fieldError(
        'logIds',
        other.id,
        `is of the stack ${other.stackName}`,
        `logs of ${logs[0].stackName} alone`,
      ),
    ]);
  return logs;
}

async function studyOf(
  context: Context,
  { studyId, description, source, cable, converter }: EvaluateStackLogs,
  stackId: number,
): Promise<Study> {
  if (studyId !== undefined && description !== undefined)
    throw new Refusal('invalid-request', 'One study is compared.', [
      fieldError('studyId', studyId, 'a description is given too', 'one of studyId and description'),
    ]);
  const part = Object.entries({ source, cable, converter }).find(([, name]) => name !== undefined);
  if (part !== undefined && (studyId !== undefined || description !== undefined))
    throw new Refusal('invalid-request', 'A study that is given has its own parts.', [
      fieldError(
        part[0],
        part[1],
        'a study is given too',
        'leave it out, or let the study be drafted from the stack',
      ),
    ]);
  if (description !== undefined) return { from: 'given', studyId: null, notes: [], description };
  if (studyId !== undefined) {
    const study = await readChargeStudy(context, studyId);
    return {
      from: 'kept-study',
      studyId,
      notes: study.description.notes ?? [],
      description: study.description,
    };
  }
  const draft = await draftChargeStudy(context, { stackId, source, cable, converter });
  return { from: 'stack', studyId: null, notes: [...draft.notes], description: draft.description };
}

async function logToEvaluate(context: Context, log: StackLog): Promise<LogToEvaluate> {
  const values = (await readStackLogValues(context.store, log)) as ReadonlyMap<ChargeLogRole, Float64Array>;
  const cells = log.columns.filter(({ role }) => role.startsWith('cell-voltage-')).length;
  return {
    log: chargeLogOf(values, cells, log.ambientTemperatureC),
    columns: log.columns.map(({ role, source, unit, unitFrom }) => ({ role, source, unit, unitFrom })),
    unused: [],
    warnings: log.warnings,
    lines: null,
  };
}
