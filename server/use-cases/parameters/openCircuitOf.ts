import type { Context } from '../../context.ts';
import { type OpenCircuitCurve, openCircuitCurve } from '../../contract/openCircuit.ts';
import { listOpenCircuitCurves } from '../../store/fits.ts';

/** The open-circuit curve that stands for a cell, and the evaluation it came from. */
export interface CellOpenCircuit {
  readonly curve: OpenCircuitCurve;
  readonly fitId: number;
  readonly testId: number;
  readonly temperatureC: number | null;
}

/** Parameters are stated for this temperature where nothing else is asked; common practice. */
const REFERENCE_C = 25;
/** Tests whose temperatures differ by no more than this stand at one temperature. */
const SAME_TEMPERATURE_C = 2.5;
/** One direction alone carries its polarisation with it; a few rests are exact but far apart. */
const sources: readonly OpenCircuitCurve['source'][] = [
  'slow-average',
  'rests',
  'slow-charge',
  'slow-discharge',
];

/**
 * The open-circuit curve of a cell, from its pulse and capacity tests: the latest in its life, of these the nearest to
 * 25 °C (a test that states none is taken to be there), of these a slow discharge and charge averaged before the rests
 * between pulses before a single direction. Null where no test gave a curve.
 */
export function openCircuitOf(context: Context, cellId: number): CellOpenCircuit | null {
  const found = listOpenCircuitCurves(context.store, cellId).map((row) => ({
    ...row,
    curve: openCircuitCurve.parse(JSON.parse(row.curveJson)),
  }));
  if (found.length === 0) return null;
  const away = (one: { temperatureC: number | null }): number =>
    Math.floor(Math.abs((one.temperatureC ?? REFERENCE_C) - REFERENCE_C) / SAME_TEMPERATURE_C);
  found.sort(
    (a, b) =>
      (b.cycle ?? 0) - (a.cycle ?? 0) ||
      away(a) - away(b) ||
      sources.indexOf(a.curve.source) - sources.indexOf(b.curve.source) ||
      b.fitId - a.fitId,
  );
  const [{ curve, fitId, testId, temperatureC }] = found;
  return { curve, fitId, testId, temperatureC };
}
