import { medianOf } from '../../../fitting/numeric/index.ts';
import type { ChargeCellDescription } from '../../contract/chargeStudy.ts';
import type { CellParameters, CircuitRow } from '../../contract/parameterSet.ts';

type Uncertainty = NonNullable<ChargeCellDescription['uncertainty']>;

/**
 * Standard uncertainties of a drafted cell from those of its own fits: of R0 and of the sum of the branch resistances,
 * relative and with their correlation, the median over the states of charge; of the open-circuit voltage; of the capacity.
 * What a fit does not state is left out. They hold noise and resolution of the records, not the error of the model.
 */
export function studyUncertainty(cell: CellParameters, direction: 'charge' | 'discharge'): Uncertainty {
  const rows = cell.circuits.filter((table) => table.direction === direction).flatMap((table) => table.rows);
  const resistances = rows.flatMap((row) => resistanceUncertainty(row) ?? []);
  const ocv = (cell.openCircuit?.rows ?? []).flatMap(({ ocv: value }) => value.standardUncertainty ?? []);
  const { value, standardUncertainty } = cell.capacity;
  const median = (values: readonly number[]) => (values.length === 0 ? undefined : medianOf(values));
  return {
    ...stated(
      'capacityRelative',
      value === null || standardUncertainty === null ? undefined : standardUncertainty / value,
    ),
    ...stated('r0Relative', median(resistances.map((one) => one.r0))),
    ...stated('branchRelative', median(resistances.flatMap((one) => one.branches ?? []))),
    ...stated('r0BranchCorrelation', median(resistances.flatMap((one) => one.correlation ?? []))),
    ...stated('ocvV', median(ocv)),
  };
}

function stated<K extends keyof Uncertainty>(name: K, value: number | undefined): Partial<Record<K, number>> {
  return value === undefined || !Number.isFinite(value) || value === 0
    ? {}
    : ({ [name]: value } as Record<K, number>);
}

interface ResistanceUncertainty {
  readonly r0: number;
  readonly branches: number | null;
  readonly correlation: number | null;
}

function resistanceUncertainty({ r0, branches, covariance }: CircuitRow): ResistanceUncertainty | null {
  if (r0.value === null || r0.standardUncertainty === null) return null;
  const sum = branches.reduce((total, branch) => total + (branch.r.value ?? 0), 0);
  const errors = branches.map((branch) => branch.r.standardUncertainty);
  const alone = {
    r0: r0.standardUncertainty / r0.value,
    // Without the covariance of a row its branches count as independent.
    branches:
      !(sum > 0) || errors.includes(null) ? null : Math.hypot(...errors.map((error) => error ?? 0)) / sum,
    correlation: null,
  };
  if (covariance === null || !(sum > 0)) return alone;
  const at = (name: string) => covariance.names.indexOf(name);
  const own = branches.map((_, j) => at(`r${j + 1}`));
  const first = at('r0');
  if (first < 0 || own.some((index) => index < 0)) return alone;
  const { matrix } = covariance;
  let [variance, shared] = [0, 0];
  for (const i of own) {
    shared += matrix[first][i];
    for (const j of own) variance += matrix[i][j];
  }
  const spread = Math.sqrt(Math.max(variance, 0));
  const correlation = shared / (Math.sqrt(matrix[first][first]) * spread);
  return {
    r0: alone.r0,
    branches: spread / sum,
    correlation: Number.isFinite(correlation) ? Math.min(Math.max(correlation, -1), 1) : null,
  };
}
