import { type CellModel, CompiledCell } from './cellModel.ts';

/** Factors and offsets on a cell's parameters; 1 and 0 leave it as it is. */
export interface CellChange {
  readonly capacity: number;
  readonly r0: number;
  readonly branches: number;
  readonly ocvOffsetV: number;
  readonly heatCapacity: number;
  readonly heatTransfer: number;
}

export const UNCHANGED: CellChange = {
  capacity: 1,
  r0: 1,
  branches: 1,
  ocvOffsetV: 0,
  heatCapacity: 1,
  heatTransfer: 1,
};

/**
 * The same cell with changed parameters; branch time constants stay.
 * @throws RangeError where a factor makes a parameter leave its range.
 */
export function scaleCell(cell: CompiledCell, change: CellChange): CompiledCell {
  const { model } = cell;
  const times = (values: Float64Array, factor: number) => values.map((value) => value * factor);
  const { ocv, thermal } = model;
  const next: CellModel = {
    ...model,
    capacityAh: model.capacityAh * change.capacity,
    r0Ohm: times(model.r0Ohm, change.r0),
    branches: model.branches.map(({ rOhm, tauS }) => ({ rOhm: times(rOhm, change.branches), tauS })),
    ocv:
      ocv.kind === 'table'
        ? { ...ocv, values: ocv.values.map((value) => value + change.ocvOffsetV) }
        : { ...ocv, coefficients: ocv.coefficients.map((c, p) => (p === 0 ? c + change.ocvOffsetV : c)) },
    thermal:
      thermal === null
        ? null
        : {
            heatCapacityJPerK: thermal.heatCapacityJPerK * change.heatCapacity,
            heatTransferWPerK: thermal.heatTransferWPerK * change.heatTransfer,
          },
  };
  return new CompiledCell(next);
}
