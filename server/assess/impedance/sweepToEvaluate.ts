import type { Sweep } from '../../../fitting/impedance/index.ts';
import type { ImpedanceSettings } from '../../contract/impedance.ts';

/** A spectrum with its condition, as the evaluation takes it. */
export interface SweepToEvaluate extends Sweep {
  readonly cell: string | null;
}

/** What the evaluation needs beside the spectra. */
export interface ImpedanceEvaluationSettings extends ImpedanceSettings {
  /** State of charge of the first sweep, where the sweeps state a charge and no state of charge. */
  readonly startSoc?: number;
  readonly ratedCapacityAh?: number;
  /** The cell's own capacity as stated, in which the state of charge is counted; else as measured; else the rated one. */
  readonly cellCapacityAh?: number;
  /** As measured of the cell; it may change. */
  readonly measuredCapacityAh?: number;
}
