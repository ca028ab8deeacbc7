import { SAME_TEMPERATURE_C } from '../../../fitting/circuit/index.ts';

/** Parameters are stated for this temperature where nothing else is asked, in °C; common practice. */
const REFERENCE_C = 25;

/**
 * How far from the reference a test was made, in steps within which temperatures are one: 1 within a step of 25 °C, its end
 * included. A test that states no temperature is taken to be at the reference.
 */
export function stepsFromReference({ temperatureC }: { readonly temperatureC?: number | null }): number {
  return Math.max(1, Math.ceil(Math.abs((temperatureC ?? REFERENCE_C) - REFERENCE_C) / SAME_TEMPERATURE_C));
}
