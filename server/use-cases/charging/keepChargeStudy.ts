import { studyCharge } from '../../assess/charging/studyCharge.ts';
import { type Context, inTransaction, nowText } from '../../context.ts';
import type { CreateChargeStudy, StoredChargeStudy } from '../../contract/chargeStudies.ts';
import { CHARGE_ALGORITHM } from '../../contract/chargeStudyResult.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { putJob } from '../../jobs/queue.ts';
import { insertAudit } from '../../store/audit.ts';
import {
  deleteChargeStudy,
  findChargeStudy,
  insertChargeStudy,
  setChargeStudyInputs,
} from '../../store/chargeStudies.ts';
import { versionChanged } from '../register/versionChanged.ts';
import { chargeStudySubject, fitsOf } from './chargeStudySubject.ts';
import { readChargeStudy } from './readChargeStudy.ts';

/**
 * Keeps a charge study and puts the job that computes it. The plain charge is computed at once to refuse what cannot be
 * simulated; the longer questions are the job's.
 *
 * @throws Refusal `not-found` for the subject, `cannot-study` naming field, value and what would be right.
 */
export async function keepChargeStudy(
  context: Context,
  request: CreateChargeStudy,
): Promise<StoredChargeStudy> {
  const { description, name, stackId, cellIds } = request;
  const subject =
    stackId === undefined && cellIds === undefined
      ? null
      : await chargeStudySubject(context, { stackId, cellIds });
  if (subject !== null && subject.cells.length !== description.cells.length)
    throw new Refusal('cannot-study', 'The description has other cells than the subject.', [
      fieldError(
        'description.cells',
        description.cells.length,
        'not the cells of the subject',
        `${subject.cells.length} cells`,
      ),
    ]);
  studyCharge({ ...description, questions: { stackOnly: false } });
  const ids = subject?.cells.map(({ cell }) => cell.id) ?? [];
  const inputs = { cellIds: ids, fitIds: subject === null ? [] : fitsOf(subject), jobId: null };
  const [algorithm, algorithmVersion] = CHARGE_ALGORITHM.split('/');
  const createdAt = nowText(context);
  const id = await inTransaction(context, async (context) => {
    const studyId = await insertChargeStudy(context.store, {
      name,
      cellTypeId: subject?.cells[0].cellType.id ?? null,
      cellId: ids.length === 1 ? ids[0] : null,
      stackId: subject?.stackId ?? null,
      descriptionJson: JSON.stringify({ ...description, name }),
      inputs,
      algorithm,
      algorithmVersion,
      createdAt,
      createdBy: context.actor.name,
    });
    const job = await putJob(context, 'charge-study', { studyId });
    await setChargeStudyInputs(context.store, studyId, { ...inputs, jobId: job.id });
    await insertAudit(context.store, {
      at: createdAt,
      actor: context.actor.name,
      action: 'charge-study.made',
      subjectKind: 'charge-study',
      subjectId: studyId,
      detail: { name, cells: ids.join(', ') },
    });
    return studyId;
  });
  return readChargeStudy(context, id);
}

/** Removes a study. @throws Refusal `not-found`, `version-changed` */
export async function removeChargeStudy(context: Context, id: number, version: number): Promise<void> {
  const present = await findChargeStudy(context.store, id);
  if (present === null) throw notFound('charge study', id);
  await inTransaction(context, async (context) => {
    if (!(await deleteChargeStudy(context.store, id, version)))
      throw versionChanged(version, present.version);
    await insertAudit(context.store, {
      at: nowText(context),
      actor: context.actor.name,
      action: 'charge-study.removed',
      subjectKind: 'charge-study',
      subjectId: id,
      detail: { name: present.name },
    });
  });
}
