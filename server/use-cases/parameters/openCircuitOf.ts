import { ENOUGH_OF_STATES } from '../../assess/parameters/mostTellingFirst.ts';
import { capacityAtAge, curveOnScale, fixedState, onOwnScale } from '../../assess/parameters/ownScale.ts';
import { stepsFromReference } from '../../assess/parameters/referenceTemperature.ts';
import type { Context } from '../../context.ts';
import { type OpenCircuitCurve, openCircuitCurve } from '../../contract/openCircuit.ts';
import { listOpenCircuitCurves } from '../../store/fits.ts';
import { listCellMeasurements } from '../../store/measurements.ts';
import { readStored } from '../../store/storedJson.ts';

/** The open-circuit curve that represents a cell, and the evaluation it came from. */
export interface CellOpenCircuit {
  readonly curve: OpenCircuitCurve;
  readonly fitId: number;
  readonly testId: number;
  readonly temperatureC: number | null;
}

/** One direction alone carries its polarisation with it; a few rests are exact but far apart. */
const sources: readonly OpenCircuitCurve['source'][] = [
  'slow-average',
  'rests',
  'slow-charge',
  'slow-discharge',
];

/**
 * The open-circuit curve of a cell, from its pulse and capacity tests: the latest in its life, of these the nearest to
 * 25 °C (a test that states none is taken to be there), of these those that span about as much of the states of charge
 * as any, so that a short repeat does not displace a whole one, of these a slow discharge and charge averaged before the
 * rests between pulses before a single direction, of these the newest. Null where no test gave a curve.
 * Rests of a record that counted in parts of another capacity are put on the cell's own scale at their age.
 */
export async function openCircuitOf(context: Context, cellId: number): Promise<CellOpenCircuit | null> {
  const found = (await listOpenCircuitCurves(context.store, cellId)).flatMap((row) => {
    const { data: curve } = readStored(openCircuitCurve, row.curveJson);
    return curve === null ? [] : [{ ...row, curve }];
  });
  if (found.length === 0) return null;
  const cycleOf = (one: { cycle: number | null }): number => one.cycle ?? 0;
  const span = ({ curve: { soc } }: { curve: OpenCircuitCurve }): number => soc[soc.length - 1] - soc[0];
  const partial = new Map(
    found.map((one) => {
      const alike = found.filter(
        (other) => cycleOf(other) === cycleOf(one) && stepsFromReference(other) === stepsFromReference(one),
      );
      return [one, span(one) < ENOUGH_OF_STATES * Math.max(...alike.map(span))];
    }),
  );
  found.sort(
    (a, b) =>
      cycleOf(b) - cycleOf(a) ||
      stepsFromReference(a) - stepsFromReference(b) ||
      Number(partial.get(a)) - Number(partial.get(b)) ||
      sources.indexOf(a.curve.source) - sources.indexOf(b.curve.source) ||
      b.fitId - a.fitId,
  );
  const [{ curve, fitId, testId, temperatureC, cycle, countedAh, ratedAh, basis, ...start }] = found;
  const ownCapacityAh =
    basis === 'stated'
      ? null
      : (capacityAtAge(await listCellMeasurements(context.store, cellId), cycle)?.value ?? ratedAh);
  const scale = onOwnScale({ fixedSoc: fixedState(start), capacityAh: countedAh }, ownCapacityAh);
  return { curve: curveOnScale(curve, scale), fitId, testId, temperatureC };
}
