import type { CompiledCell } from '../charging/cellModel.ts';

/** What can be fitted of a cell. */
export type CellQuantity = 'capacityAh' | 'startSoc' | 'r0Factor' | 'branchFactor' | 'slowOhm' | 'slowTauS';
/** Every parameter of the problem: those of the cells and the constant errors of the channels. */
export type LogQuantity = CellQuantity | 'voltageOffsetV' | 'currentOffsetA' | 'edgeFraction' | 'ocvKnotV';

/** One parameter and where it belongs; null where it is shared by all cells or all logs. */
export interface LogParameter {
  readonly quantity: LogQuantity;
  readonly cell: number | null;
  readonly log: number | null;
  /** Jump of the current in the log, or knot of the OCV; null for all others. */
  readonly index: number | null;
}

/** A cell as it is before the fit, with what may change. */
export interface CellToFit {
  readonly cell: CompiledCell;
  /** Start SOC by log. */
  readonly startSoc: readonly number[];
  readonly free: readonly CellQuantity[];
  /** Start of the slow branch, used where it is free. */
  readonly slow: { readonly ohm: number; readonly tauS: number } | null;
  /** Where the OCV may differ from the model, linear between the knots; null: nowhere. */
  readonly knots: OcvKnots | null;
}

/** Corrections of an OCV curve, each known to be 0 within a standard uncertainty. */
export interface OcvKnots {
  /** Ascending. */
  readonly soc: readonly number[];
  readonly standardUncertaintyV: readonly number[];
}

/** Constant error of a current channel as known before the fit. */
export interface KnownOffset {
  readonly valueA: number;
  readonly standardUncertaintyA: number;
}

/** Unit of each parameter, as a symbol. */
export const UNITS: Record<LogQuantity, string> = {
  capacityAh: 'Ah',
  startSoc: '1',
  r0Factor: '1',
  branchFactor: '1',
  slowOhm: 'Ohm',
  slowTauS: 's',
  voltageOffsetV: 'V',
  currentOffsetA: 'A',
  edgeFraction: '1',
  ocvKnotV: 'V',
};

/** The knots on both sides of a SOC with their weights; the end knots hold beyond the ends. */
export function forKnots(
  knots: readonly number[],
  soc: number,
  visit: (knot: number, weight: number) => void,
): void {
  const last = knots.length - 1;
  if (soc <= knots[0] || soc >= knots[last]) visit(soc <= knots[0] ? 0 : last, 1);
  else {
    let above = 1;
    while (knots[above] < soc) above += 1;
    const weight = (soc - knots[above - 1]) / (knots[above] - knots[above - 1]);
    visit(above - 1, 1 - weight);
    visit(above, weight);
  }
}
