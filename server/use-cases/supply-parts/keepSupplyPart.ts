import type { z } from 'zod';
import { measuredConverter } from '../../../fitting/charging/index.ts';
import { ratioStageErrors } from '../../assess/charging/supplyOf.ts';
import { type Context, inTransaction, nowText } from '../../context.ts';
import type { CreateSupplyPart, partMeasured, SupplyPart } from '../../contract/supplyParts.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findPresentPart, findSupplyPart, insertSupplyPart, putPartAway } from '../../store/supplyParts.ts';

type Measured = z.infer<typeof partMeasured>;

/**
 * Keeps a converter, cable or source under its name; where the name is there already, as its next revision. Parameters of a
 * converter with measured operating points get their intervals and an efficiency curve.
 *
 * @throws Refusal `cannot-study` for a description that no study could take
 */
export async function keepSupplyPart(context: Context, part: CreateSupplyPart): Promise<SupplyPart> {
  return storeSupplyPart(context, part, measuredOf(part), null);
}

/** As {@link keepSupplyPart}, with what was measured and the evaluation it was taken from. */
export async function storeSupplyPart(
  context: Context,
  part: CreateSupplyPart,
  measured: Measured,
  fitId: number | null,
): Promise<SupplyPart> {
  const createdAt = nowText(context);
  const id = await inTransaction(context, async ({ store, actor }) => {
    const made = await insertSupplyPart(store, part, { measured, fitId, createdAt, createdBy: actor.name });
    await insertAudit(store, {
      at: createdAt,
      actor: actor.name,
      action: 'supply-part.kept',
      subjectKind: 'supply-part',
      subjectId: made,
      detail: { kind: part.kind, name: part.name },
    });
    return made;
  });
  return readSupplyPart(context, id);
}

/** @throws Refusal `not-found` */
export async function readSupplyPart(context: Pick<Context, 'store'>, id: number): Promise<SupplyPart> {
  const part = await findSupplyPart(context.store, id);
  if (part === null) throw notFound('supply part', id);
  return part;
}

/** The revision of a name that studies take now. @throws Refusal `not-found` naming the field */
export async function presentPart(
  context: Pick<Context, 'store'>,
  kind: SupplyPart['kind'],
  name: string,
): Promise<SupplyPart> {
  const part = await findPresentPart(context.store, kind, name);
  if (part === null)
    throw new Refusal('not-found', `There is no ${kind} named ${name}.`, [
      fieldError(kind, name, 'is not kept', `the name of a kept ${kind}`),
    ]);
  return part;
}

/** Takes a part off the list that studies pick from. @throws Refusal `not-found`, `conflict` where it is off already */
export async function removeSupplyPart(context: Context, id: number): Promise<void> {
  const part = await readSupplyPart(context, id);
  await inTransaction(context, async ({ store, actor }) => {
    const at = nowText(context);
    if (!(await putPartAway(store, id, at)))
      throw new Refusal('conflict', `${part.name} is not on the list any more.`);
    await insertAudit(store, {
      at,
      actor: actor.name,
      action: 'supply-part.put-away',
      subjectKind: 'supply-part',
      subjectId: id,
      detail: { kind: part.kind, name: part.name },
    });
  });
}

function measuredOf(part: CreateSupplyPart): Measured {
  if (part.kind !== 'converter') return {};
  const { ratioStage, regulator } = part.description;
  if (ratioStage === undefined && regulator === undefined)
    throw new Refusal('cannot-study', 'A converter needs a ratio stage or a regulator.', [
      fieldError('description', undefined, 'describes nothing', 'ratioStage or regulator'),
    ]);
  if (ratioStage === undefined) return {};
  const places = ratioStageErrors(ratioStage, regulator !== undefined).map((place) => ({
    ...place,
    field: place.field?.replace(/^converter\./, 'description.') ?? null,
  }));
  if (places.length > 0)
    throw new Refusal('cannot-study', 'The converter cannot be used as it is described.', places);
  const { operatingPoints, ratio } = ratioStage;
  if (operatingPoints === undefined) return {};
  try {
    const withInputs = operatingPoints.points.every((point) => 'inputVoltageV' in point);
    return withInputs
      ? { converter: measuredOfPoints(ratio, operatingPoints.points, operatingPoints.meters) }
      : {};
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new Refusal('cannot-study', `The operating points cannot be used: ${error.message}.`, [
      fieldError(
        'description.ratioStage.operatingPoints',
        undefined,
        error.message,
        'points of one converter',
      ),
    ]);
  }
}

function measuredOfPoints(
  ...given: Parameters<typeof measuredConverter>
): NonNullable<Measured['converter']> {
  const { curve, assumed, ...parameters } = measuredConverter(...given);
  return { ...parameters, curve: [...curve], assumed: [...assumed] };
}
