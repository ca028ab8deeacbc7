import { ZERO_CELSIUS_K } from '../numeric/index.ts';

/**
 * Heat of a cell, W: Bernardi, Pawlikowski and Newman, J. Electrochem. Soc. 132 (1985) 5–12, doi:10.1149/1.2113792,
 * single-reaction form, with current positive on charge: q = i (V − OCV) + i T dU/dT. The first part is never
 * negative; the second changes sign between charge and discharge.
 */
export function heatGenerationW(
  currentA: number,
  voltageV: number,
  ocvV: number,
  temperatureC: number,
  entropicVPerK: number,
): number {
  return currentA * (voltageV - ocvV) + currentA * (temperatureC + ZERO_CELSIUS_K) * entropicVPerK;
}

/**
 * Temperature of a lumped body under a constant heat from `startC` on:
 * C dT/dt = heat − K (T − ambient). With no heat transfer it rises without end.
 */
export function lumpedTemperatureC(
  body: { readonly heatCapacityJPerK: number; readonly heatTransferWPerK: number },
  heatW: number,
  ambientC: number,
  startC: number,
  timeS: number,
): number {
  const { heatCapacityJPerK, heatTransferWPerK } = body;
  if (heatTransferWPerK === 0) return startC + (heatW * timeS) / heatCapacityJPerK;
  const final = ambientC + heatW / heatTransferWPerK;
  return final + (startC - final) * Math.exp((-heatTransferWPerK * timeS) / heatCapacityJPerK);
}
