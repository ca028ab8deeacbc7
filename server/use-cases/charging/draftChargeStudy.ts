import { ageDifference } from '../../assess/charging/parameterAges.ts';
import { studyUncertainty } from '../../assess/parameters/studyUncertainty.ts';
import type { Context } from '../../context.ts';
import type { ChargeStudyDraft, DraftChargeStudy } from '../../contract/chargeStudies.ts';
import { type ChargeCellDescription, chargeStudyDescription } from '../../contract/chargeStudy.ts';
import { supplyPartKind } from '../../contract/supplyParts.ts';
import { takenStackResistance } from '../../contract/takenParameters.ts';
import type { TemperatureLaw } from '../../contract/temperature.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { type CircuitModel, studyModel } from '../../export/circuitModel.ts';
import { ExportRefused } from '../../export/refusal.ts';
import { inOrder } from '../../inOrder.ts';
import { listStackFits } from '../../store/fits.ts';
import { parseStored } from '../../store/storedJson.ts';
import { presentPart } from '../supply-parts/keepSupplyPart.ts';
import { readTemperatureLaws } from '../temperature/readTemperature.ts';
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
    stack: {
      ambientTemperatureC: USUAL_TEMPERATURE_C,
      ...(await measuredConnections(context, subject, notes)),
    },
    ...(await pickedParts(context, request)),
    phases: { stages: [{ rateC: Math.min(1, rating / oneC) }], end: { rateC: 0.05 } },
    notes: notes.slice(0, 100),
    ...(drafted?.life ? { questions: { rateSearch: { life: drafted.life } } } : {}),
  });
  return { description, notes };
}

/** The resistance of the stack's connections, where it was taken over from a measured charge. */
async function measuredConnections(
  context: Context,
  { stackId }: ChargeStudySubject,
  notes: ChargeStudyDraft['notes'],
) {
  const [fit] = stackId === null ? [] : await listStackFits(context.store, stackId, 'stack-resistance');
  if (fit === undefined) return {};
  const { valueOhm, low, high } = parseStored(takenStackResistance, fit.resultJson, `fit ${fit.id}`);
  const milli = (ohm: number) => (1000 * ohm).toFixed(2);
  notes.push({
    code: 'measured-connections',
    message: `Connections of the stack: ${milli(valueOhm)} mΩ (${milli(low)} to ${milli(high)}) from a measured charge (fit ${fit.id}).`,
  });
  return { seriesResistance: { toSensePointOhm: valueOhm } };
}

/** The kept source, cable and converter that are named. @throws Refusal `not-found` */
async function pickedParts(context: Context, { source, cable, converter }: DraftChargeStudy) {
  const picked: Record<string, unknown> = {};
  for (const [kind, name] of Object.entries({ source, cable, converter })) {
    if (name === undefined) continue;
    const { id, revision, description } = await presentPart(context, supplyPartKind.parse(kind), name);
    picked[kind] = { ...description, part: { id, name, revision } };
  }
  return picked;
}

async function modelOf(context: Context, { cell, cellType }: SubjectCell, notes: ChargeStudyDraft['notes']) {
  try {
    const model = studyModel(cell, cellType, START_SOC);
    for (const note of model.notes) notes.push({ code: 'parameters', message: `${cell.serial}: ${note}.` });
    for (const { code, message } of model.warnings)
      notes.push({ code, message: `${cell.serial}: ${message}.` });
    const arrhenius = await noteTemperatures(context, { cell, cellType }, model, notes);
    const ages = ageDifference(cell);
    if (ages !== null) notes.push({ code: 'different-ages', message: `${cell.serial}: ${ages}.` });
    const uncertainty = studyUncertainty(cell, model.direction);
    const known = {
      ...model.cell,
      ...(arrhenius === null ? {} : { arrhenius }),
      ...(Object.keys(uncertainty).length === 0 ? {} : { uncertainty }),
    };
    if (cell.heat !== undefined)
      notes.push({
        code: 'measured-heat',
        message: `${cell.serial}: heat capacity and heat transfer were taken over from a measured charge (fit ${cell.heat.fitId}).`,
      });
    if (known.thermal !== undefined) return known;
    const fitted = await usableHeatBalance(context, cell.id, cellType.id);
    if (fitted?.takeOver == null) {
      notes.push({
        code: 'no-heat-balance',
        message: `${cell.serial}: the cell type has no heat capacity and heat transfer, so the temperature stays where it starts.`,
      });
      return known;
    }
    notes.push({
      code: 'fitted-heat-balance',
      message: `${cell.serial}: the cell type has no heat capacity and heat transfer; those fitted from test ${fitted.result.testId} of cell ${fitted.serial} are used (fit ${fitted.fitId}).`,
    });
    return { ...known, thermal: { ...fitted.takeOver, basis: 'fitted' as const } };
  } catch (error) {
    if (!(error instanceof ExportRefused)) throw error;
    throw new Refusal('cannot-study', `The charge study cannot be computed: ${error.message}.`, [
      fieldError(error.field, error.value ?? undefined, 'is needed for the simulation', error.expected),
    ]);
  }
}

/**
 * Says how far the parameters of one temperature carry; where the cell type has an assessed temperature law, that is handed
 * back and carries them over its range.
 */
async function noteTemperatures(
  context: Context,
  { cell, cellType }: SubjectCell,
  model: CircuitModel,
  notes: ChargeStudyDraft['notes'],
): Promise<ChargeCellDescription['arrhenius'] | null> {
  const { temperatureC } = model.cell;
  if (temperatureC !== undefined && temperatureC.length > 1) return null;
  const law = temperatureC === undefined ? null : await studyLaw(context, cellType.id, model.direction);
  if (temperatureC === undefined || law === null) {
    const where =
      temperatureC === undefined ? 'at a temperature that is not known' : `at ${temperatureC[0]} °C only`;
    notes.push({
      code: 'one-temperature',
      message: `${cell.serial}: resistances measured ${where}; they do not change with temperature here, and a colder cell has higher ones.`,
    });
    return null;
  }
  notes.push({
    code: 'temperature-law',
    message:
      `${cell.serial}: resistances measured at ${temperatureC[0]} °C only; the temperature law assessed for the cell type carries them from ` +
      `${law.lowestC} to ${law.highestC} °C (${law.key}, ${(law.activationJPerMol / 1000).toFixed(1)} kJ/mol).`,
  });
  return {
    activationEnergyJPerMol: law.activationJPerMol,
    referenceTemperatureC: temperatureC[0],
    branchesToo: true,
    validFromC: law.lowestC,
    validToC: law.highestC,
  };
}

/** The law nearest to a 10 s resistance at half charge of the direction, of those that describe their readings; null without. */
async function studyLaw(
  context: Context,
  cellTypeId: number,
  direction: 'charge' | 'discharge',
): Promise<TemperatureLaw | null> {
  const laws = (await readTemperatureLaws(context, cellTypeId))?.laws ?? [];
  const away = ({ soc, durationS, direction: of }: TemperatureLaw) =>
    10 * Math.abs((soc ?? 1) - 0.5) +
    Math.abs(Math.log((durationS ?? 1e4) / 10)) +
    (of === direction ? 0 : 1);
  const fit = laws.filter(
    ({ quantity, fallsThroughout, mixedCurrents, durationS }) =>
      quantity === 'resistance' && durationS !== null && fallsThroughout && mixedCurrents !== true,
  );
  return fit.sort((a, b) => away(a) - away(b))[0] ?? null;
}

function noteLimits(subject: ChargeStudySubject, notes: ChargeStudyDraft['notes']): void {
  const usual = new Set(subject.cells.flatMap(({ cellType }) => cellType.limits.commonPractice));
  if (usual.size > 0)
    notes.push({
      code: 'default-limits-not-datasheet',
      message: `Not from the datasheet but common practice for the chemistry, with no source claimed: ${[...usual].join(', ')}.`,
    });
}
