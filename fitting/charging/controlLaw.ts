import type { Efficiency } from './efficiency.ts';

/**
 * What fixes the stack current at a moment. With V_k the cell voltages and I the stack current:
 *
 *   current   I = currentA
 *   voltage   f(I) Σ w_k V_k + seriesOhm I = targetV
 *   power     f(I) I Σ w_k V_k + squareOhm I² = powerW
 *
 * f(I) is 1/efficiency(I) where an efficiency is given, else 1. Constant voltage on one cell has one w_k of 1; a source at
 * its highest voltage behind a cable is a `voltage` law with the converter's ratio in the weights.
 */
export type ControlLaw =
  | { readonly kind: 'current'; readonly currentA: number }
  | {
      readonly kind: 'voltage';
      readonly weights: Float64Array;
      readonly seriesOhm: number;
      readonly targetV: number;
      readonly efficiency: Efficiency | null;
    }
  | {
      readonly kind: 'power';
      readonly weights: Float64Array;
      readonly squareOhm: number;
      readonly powerW: number;
      readonly efficiency: Efficiency | null;
    };
