import type { CompiledCell } from '../charging/index.ts';
import type { OcvKnots } from './ocvKnots.ts';

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
  /** Where the fit begins to look for it, by log. */
  readonly searchSoc: readonly number[];
  readonly free: readonly CellQuantity[];
  /** Start of the slow branch, used where it is free. */
  readonly slow: { readonly ohm: number; readonly tauS: number } | null;
  /** Relative standard uncertainties of the study's resistances; they count only where the logs do not tell. Null: not stated. */
  readonly known: { readonly r0Factor: number | null; readonly branchFactor: number | null };
  /** Standard uncertainty of an error that the whole OCV curve shares, smooth over SOC, V. */
  readonly curveSpreadV: number;
  /** What the temperature of the logs leaves open of resistances that hold at another, relative. */
  readonly warmingShare: number;
  /** Where the OCV may differ from the model, linear between the knots; null: nowhere. */
  readonly knots: OcvKnots | null;
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
