import { implausibleReasons } from '../../assess/lots/implausible.ts';
import { type Context, nowText } from '../../context.ts';
import type { Stack } from '../../contract/stacks.ts';
import type { KeepTraveller, StoredTraveller, Traveller } from '../../contract/travellers.ts';
import { type ErrorPlace, fieldError, notFound, Refusal } from '../../errors.ts';
import { insertAttachment, travellerType } from '../../store/attachments.ts';
import { insertAudit } from '../../store/audit.ts';
import { insertMeasurements, type NewMeasurement } from '../../store/measurements.ts';
import { findPlausibleLimits } from '../../store/plausibleLimits.ts';
import { findStack } from '../../store/stacks.ts';
import { findVoltageLimits } from '../../store/voltageLimits.ts';
import { readTravellers } from './readTravellers.ts';

const methods = {
  openCircuitVoltageV: 'traveller: open circuit',
  chargerVoltageV: 'traveller: seen by the charger',
} as const;
type VoltageName = keyof typeof methods;
const voltageNames = Object.keys(methods) as VoltageName[];

/**
 * Keeps the results of a traveller with its stack, and each voltage as a measurement of its cell. They are held against
 * the same limits as imported values, and one that cannot be is refused by name: who enters it can correct it at once. The
 * state of charge is not known while a stack is built, so the voltages are not compared between the cells of a lot.
 *
 * @throws Refusal `not-found`; `invalid-request` naming each field that cannot be
 */
export async function keepTraveller(
  context: Context,
  stackId: number,
  given: KeepTraveller,
): Promise<Traveller[]> {
  const { store, actor } = context;
  const stack = await findStack(store, stackId);
  if (stack === null) throw notFound('stack', stackId);
  const places = await wrongPlaces(context, stack, given);
  if (places.length > 0)
    throw new Refusal('invalid-request', 'The results of the traveller cannot be kept.', places);
  const at = nowText(context);
  await store.transaction(async (store) => {
    await insertAttachment(
      store,
      { stackId },
      {
        name: 'traveller',
        mediaType: travellerType,
        text: JSON.stringify(toStore(stack, given)),
        data: null,
        createdAt: at,
        createdBy: actor.name,
      },
    );
    await insertMeasurements(store, measurementsOf(given, at), at);
    await insertAudit(store, {
      at,
      actor: actor.name,
      action: 'stack.traveller',
      subjectKind: 'stack',
      subjectId: stackId,
      detail: {},
    });
  });
  return readTravellers(context, stackId);
}

async function wrongPlaces(
  { store }: Context,
  stack: Stack,
  { cells, jointsOhm, joints, steps }: KeepTraveller,
): Promise<ErrorPlace[]> {
  const hasAny = cells.some((cell) => cell.serialRead !== undefined || voltagesOf(cell).length > 0);
  if (!hasAny && jointsOhm === undefined && joints.length === 0 && steps.length === 0)
    return [fieldError('cells', null, 'holds no result', 'one result at least')];
  const places: ErrorPlace[] = wrongJoints(stack, jointsOhm, joints);
  for (const [i, cell] of cells.entries()) {
    const held = stack.cells.find(({ cellId }) => cellId === cell.cellId);
    const isAgain = cells.findIndex(({ cellId }) => cellId === cell.cellId) < i;
    if (held === undefined || isAgain) {
      const reason = isAgain ? 'is named twice' : 'is not in this stack';
      places.push(fieldError(`cells.${i}.cellId`, cell.cellId, reason, 'each cell of the stack once'));
      continue;
    }
    if (cell.serialRead !== undefined && cell.serialRead.trim() !== held.serial)
      places.push(
        fieldError(`cells.${i}.serialRead`, cell.serialRead, 'is another cell', `the serial ${held.serial}`),
      );
    const type = {
      ...(await findVoltageLimits(store, held.lotId)),
      ...(await findPlausibleLimits(store, held.lotId)),
    };
    const given = voltagesOf(cell);
    const judged = given.map(({ value }) => ({
      quantity: 'ocv' as const,
      value,
      durationS: null,
      direction: null,
    }));
    implausibleReasons(judged, type).forEach((reason, k) => {
      if (reason !== null)
        places.push(
          fieldError(
            `cells.${i}.${given[k].name}`,
            given[k].value,
            'is outside the limits of the chemistry',
            `${type.voltageMinV} to ${type.voltageMaxV} V`,
          ),
        );
    });
  }
  return places;
}

/** Each joint lies between two cells of the stack, is named once, and not also counted into all of them together. */
function wrongJoints(
  { cells }: Stack,
  jointsOhm: KeepTraveller['jointsOhm'],
  joints: KeepTraveller['joints'],
): ErrorPlace[] {
  if (jointsOhm !== undefined && joints.length > 0)
    return [
      fieldError(
        'jointsOhm',
        jointsOhm,
        'is given beside single joints',
        'either all together or each joint',
      ),
    ];
  return joints.flatMap(({ after }, i) => {
    const isAgain = joints.findIndex((one) => one.after === after) < i;
    if (!isAgain && after < cells.length) return [];
    const reason = isAgain ? 'is named twice' : 'is no joint of this stack';
    return [fieldError(`joints.${i}.after`, after, reason, `each joint once: 1 to ${cells.length - 1}`)];
  });
}

function voltagesOf(cell: KeepTraveller['cells'][number]): { name: VoltageName; value: number }[] {
  return voltageNames.flatMap((name) => {
    const value = cell[name];
    return value === undefined ? [] : [{ name, value }];
  });
}

function toStore(stack: Stack, { cells, jointsOhm, joints, steps }: KeepTraveller): StoredTraveller {
  return {
    schemaVersion: 1,
    cells: stack.cells.map(({ cellId, serial }) => {
      const given = cells.find((cell) => cell.cellId === cellId);
      return {
        cellId,
        serial,
        serialRead: given?.serialRead !== undefined,
        openCircuitVoltageV: given?.openCircuitVoltageV ?? null,
        chargerVoltageV: given?.chargerVoltageV ?? null,
      };
    }),
    jointsOhm:
      jointsOhm ??
      (joints.length === stack.cells.length - 1 ? joints.reduce((sum, { ohm }) => sum + ohm, 0) : null),
    joints: joints.toSorted((a, b) => a.after - b.after),
    steps: [...new Set(steps)],
  };
}

function measurementsOf({ cells }: KeepTraveller, at: string): NewMeasurement[] {
  return cells.flatMap((cell) =>
    voltagesOf(cell).map(
      ({ name, value }): NewMeasurement => ({
        cellId: cell.cellId,
        testId: null,
        fitId: null,
        sourceFileId: null,
        sourceRow: null,
        quantity: 'ocv',
        unit: 'V',
        value,
        standardUncertainty: null,
        reason: 'uncertainty-not-stated',
        soc: null,
        temperatureC: null,
        direction: null,
        durationS: null,
        currentA: null,
        cycle: null,
        efc: null,
        method: methods[name],
        excludedReason: 'soc-not-stated',
        measuredAt: at,
      }),
    ),
  );
}
