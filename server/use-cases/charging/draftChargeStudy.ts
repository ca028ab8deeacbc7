import { ageDifference } from '../../assess/charging/parameterAges.ts';
import type { Context } from '../../context.ts';
import type { ChargeStudyDraft, DraftChargeStudy } from '../../contract/chargeStudies.ts';
import { chargeStudyDescription } from '../../contract/chargeStudy.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { studyModel } from '../../export/circuitModel.ts';
import { ExportRefused } from '../../export/refusal.ts';
import { inOrder } from '../../inOrder.ts';
import { type ChargeStudySubject, chargeStudySubject, type SubjectCell } from './chargeStudySubject.ts';
import { draftLifeLaw } from './draftLifeLaw.ts';
import { usableHeatBalance } from './readHeatBalance.ts';

const START_SOC = 0.1;
const USUAL_TEMPERATURE_C = 25;

/**
 * A study description of a stack or of cells from their fitted parameters, with 1 C or the rating where that is lower as a
 * beginning; a person changes it and hands it back. `withLife` asks for the trade-off of rate against life too.
 *
 * @throws Refusal `not-found`, and `cannot-study` where a parameter that the simulation needs is not known.
 */
export async function draftChargeStudy(
  context: Context,
  request: DraftChargeStudy,
): Promise<ChargeStudyDraft> {
  const subject = await chargeStudySubject(context, request);
  const notes: ChargeStudyDraft['notes'] = [];
  const cells = await inOrder(subject.cells, async (each) => modelOf(context, each, notes));
  const oneC = Math.min(...cells.map((cell) => cell.ratedCapacityAh ?? cell.capacityAh));
  const rating = Math.min(...cells.map((cell) => cell.datasheet.maxChargeCurrentA));
  noteLimits(subject, notes);
  const drafted = request.withLife === true ? await draftLifeLaw(context, subject) : null;
  notes.push(...(drafted?.notes ?? []));
  const description = chargeStudyDescription.parse({
    schemaVersion: 1,
    name: subject.name.slice(0, 200),
    cells,
    stack: { ambientTemperatureC: USUAL_TEMPERATURE_C },
    phases: { stages: [{ rateC: Math.min(1, rating / oneC) }], end: { rateC: 0.05 } },
    notes: notes.slice(0, 100),
    ...(drafted?.life ? { questions: { rateSearch: { life: drafted.life } } } : {}),
  });
  return { description, notes };
}

async function modelOf(context: Context, { cell, cellType }: SubjectCell, notes: ChargeStudyDraft['notes']) {
  try {
    const model = studyModel(cell, cellType, START_SOC);
    for (const note of model.notes) notes.push({ code: 'parameters', message: `${cell.serial}: ${note}.` });
    for (const { code, message } of model.warnings)
      notes.push({ code, message: `${cell.serial}: ${message}.` });
    if (model.cell.temperatureC === undefined) {
      const measured =
        cell.circuits.find((table) => table.direction === model.direction)?.temperatureC ?? null;
      const where = measured === null ? 'at a temperature that is not known' : `at ${measured} °C only`;
      notes.push({
        code: 'one-temperature',
        message: `${cell.serial}: resistances measured ${where}; they do not change with temperature here, and a colder cell has higher ones.`,
      });
    }
    const ages = ageDifference(cell);
    if (ages !== null) notes.push({ code: 'different-ages', message: `${cell.serial}: ${ages}.` });
    if (model.cell.thermal !== undefined) return model.cell;
    const fitted = await usableHeatBalance(context, cell.id, cellType.id);
    if (fitted?.takeOver == null) {
      notes.push({
        code: 'no-heat-balance',
        message: `${cell.serial}: the cell type has no heat capacity and heat transfer, so the temperature stays where it starts.`,
      });
      return model.cell;
    }
    notes.push({
      code: 'fitted-heat-balance',
      message: `${cell.serial}: the cell type has no heat capacity and heat transfer; those fitted from test ${fitted.result.testId} of cell ${fitted.serial} are used (fit ${fitted.fitId}).`,
    });
    return { ...model.cell, thermal: { ...fitted.takeOver, basis: 'fitted' as const } };
  } catch (error) {
    if (!(error instanceof ExportRefused)) throw error;
    throw new Refusal('cannot-study', `The charge study cannot be computed: ${error.message}.`, [
      fieldError(error.field, error.value ?? undefined, 'is needed for the simulation', error.expected),
    ]);
  }
}

function noteLimits(subject: ChargeStudySubject, notes: ChargeStudyDraft['notes']): void {
  const usual = new Set(subject.cells.flatMap(({ cellType }) => cellType.limits.commonPractice));
  if (usual.size > 0)
    notes.push({
      code: 'default-limits-not-datasheet',
      message: `Not from the datasheet but common practice for the chemistry, with no source claimed: ${[...usual].join(', ')}.`,
    });
}
