import type { RecordColumns } from './record.ts';
import { type CurrentZero, socTrace } from './socTrace.ts';
import type { Step } from './step.ts';

/**
 * What the state of charge at the first row is known from.
 * - `begins-full`: the record begins in a rest at the upper voltage limit;
 * - `reaches-full`: a charge in the record is held at the upper limit until its current is small;
 * - `reaches-empty`: a discharge in the record, at no more than about 1 C, ends at the lower limit.
 */
export type StartSocBasis = 'begins-full' | 'reaches-full' | 'reaches-empty';

/** A state of charge at the first row that the record itself shows. */
export interface DerivedStartSoc {
  readonly soc: number;
  readonly basis: StartSocBasis;
  /** Row at which the cell is full or empty. */
  readonly row: number;
}

/** Voltage limits of the test in V, where they are known, and the capacity that SOC 1 refers to. */
export interface SocLimits {
  readonly minVoltageV: number | null;
  readonly maxVoltageV: number | null;
  readonly capacityAh: number;
}

/** A rested cell within this of its upper limit is full, in V. Common practice, no source. */
const FULL_REST_V = 0.03;
/** Nearness to a limit that counts as reaching it, in V. */
const AT_LIMIT_V = 0.01;
/** A charge is complete at or below this rate; IEC 61960-3 leaves it to the maker, C/20 is common practice. */
const TAPERED_C = 0.06;
/** Fastest discharge whose end at the lower limit is empty. */
const FASTEST_EMPTY_C = 1.1;
/** Shortest discharge that can empty a cell, in s: longer than any pulse. */
const SHORTEST_EMPTYING_S = 180;
/** How far outside 0 to 1 a derived state may lie before limits or capacity are plainly wrong. */
const SLACK = 0.05;

/**
 * State of charge at the first row where the record begins full, or reaches full or empty later without a gap in
 * between. Null where it does neither, or where the charge counted back does not fit the capacity.
 */
export function deriveStartSoc(
  record: RecordColumns,
  steps: readonly Step[],
  limits: SocLimits,
  zero: CurrentZero | null = null,
): DerivedStartSoc | null {
  const { capacityAh } = limits;
  const trace = socTrace(record, steps, 0, capacityAh, zero);
  const found = [
    beginsFull(record, steps, limits),
    reachesFull(record, steps, limits),
    reachesEmpty(record, steps, limits),
  ];
  for (const anchor of found) {
    if (anchor === null || trace.reasonAt(anchor.row) !== null) continue;
    const soc = anchor.soc - trace.chargeAh[anchor.row] / capacityAh;
    if (soc < -SLACK || soc > 1 + SLACK) continue;
    return { soc: Math.min(1, Math.max(0, soc)), basis: anchor.basis, row: anchor.row };
  }
  return null;
}

interface Anchor {
  readonly soc: 0 | 1;
  readonly basis: StartSocBasis;
  readonly row: number;
}

function beginsFull(
  { voltageV }: RecordColumns,
  steps: readonly Step[],
  { maxVoltageV }: SocLimits,
): Anchor | null {
  const [first] = steps;
  if (maxVoltageV === null || first?.kind !== 'rest') return null;
  const restedV = voltageV[first.end - 1];
  if (restedV < maxVoltageV - FULL_REST_V || restedV > maxVoltageV + FULL_REST_V) return null;
  return { soc: 1, basis: 'begins-full', row: first.start };
}

function reachesFull(
  { voltageV, currentA }: RecordColumns,
  steps: readonly Step[],
  { maxVoltageV, capacityAh }: SocLimits,
): Anchor | null {
  let limitV = maxVoltageV ?? -Infinity;
  if (maxVoltageV === null) for (const voltage of voltageV) limitV = Math.max(limitV, voltage);
  for (const step of steps) {
    const last = step.end - 1;
    const tapered = currentA[last] > 0 && currentA[last] <= TAPERED_C * capacityAh;
    const held = Math.abs(voltageV[last] - limitV) <= AT_LIMIT_V;
    if (step.kind === 'constant-voltage' && step.currentA > 0 && tapered && held)
      return { soc: 1, basis: 'reaches-full', row: last };
  }
  return null;
}

function reachesEmpty(
  { timeS, voltageV }: RecordColumns,
  steps: readonly Step[],
  { minVoltageV, capacityAh }: SocLimits,
): Anchor | null {
  if (minVoltageV === null) return null;
  for (const step of steps) {
    const last = step.end - 1;
    const long = timeS[last] - timeS[step.start] >= SHORTEST_EMPTYING_S;
    const slow = step.currentA < 0 && -step.currentA <= FASTEST_EMPTY_C * capacityAh;
    if (step.kind === 'constant-current' && long && slow && voltageV[last] <= minVoltageV + AT_LIMIT_V)
      return { soc: 0, basis: 'reaches-empty', row: last };
  }
  return null;
}
