import { SAME_TEMPERATURE_C } from '../../../fitting/circuit/parameterTable.ts';
import { ENOUGH_OF_STATES } from '../../assess/parameters/mostTellingFirst.ts';
import { capacityAtAge, onOwnScale } from '../../assess/parameters/ownScale.ts';
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

/** Parameters are stated for this temperature where nothing else is asked; common practice. */
const REFERENCE_C = 25;
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
  // Tests that lie within one such step of 25 °C, its end included, stand at one temperature; so do those of the next.
  const away = (one: { temperatureC: number | null }): number =>
    Math.max(1, Math.ceil(Math.abs((one.temperatureC ?? REFERENCE_C) - REFERENCE_C) / SAME_TEMPERATURE_C));
  const cycleOf = (one: { cycle: number | null }): number => one.cycle ?? 0;
  const span = ({ curve: { soc } }: { curve: OpenCircuitCurve }): number => soc[soc.length - 1] - soc[0];
  const partial = new Map(
    found.map((one) => {
      const alike = found.filter((other) => cycleOf(other) === cycleOf(one) && away(other) === away(one));
      return [one, span(one) < ENOUGH_OF_STATES * Math.max(...alike.map(span))];
    }),
  );
  found.sort(
    (a, b) =>
      cycleOf(b) - cycleOf(a) ||
      away(a) - away(b) ||
      Number(partial.get(a)) - Number(partial.get(b)) ||
      sources.indexOf(a.curve.source) - sources.indexOf(b.curve.source) ||
      b.fitId - a.fitId,
  );
  const [{ curve, fitId, testId, temperatureC, cycle, startSoc, countedAh, ratedAh }] = found;
  const ownCapacityAh =
    capacityAtAge(await listCellMeasurements(context.store, cellId), cycle)?.value ?? ratedAh;
  // A slow discharge and charge takes its own ends as empty and full.
  const scale =
    curve.source === 'rests'
      ? onOwnScale({ startSoc, capacityAh: countedAh }, ownCapacityAh)
      : (soc: number) => soc;
  return { curve: { ...curve, soc: curve.soc.map(scale) }, fitId, testId, temperatureC };
}
