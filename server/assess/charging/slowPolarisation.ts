import type { CellModel, ChargeSetup } from '../../../fitting/charging/index.ts';
import { CompiledCell, simulateCharge } from '../../../fitting/charging/index.ts';
import type { ChargeNote } from '../../contract/chargeStudy.ts';
import type { SimulatedChargeResult } from '../../contract/chargeStudyResult.ts';

/** A branch from this time constant on holds polarisation that the pulses of a usual test do not show. Common practice, no source. */
const SLOW_FROM_S = 300;

/** A charge shorter than this hardly reaches the slow polarisation. Common practice, no source. */
const CHARGE_FROM_S = 900;

/** What is usually missing: half as much resistance again, building up within 20 minutes. Common practice, no source. */
const SLOW_SHARE = 0.5;
const SLOW_TAU_S = 1200;

/** Without any branch also the polarisation of half a minute, about as large as R0. Common practice, no source. */
const FAST_SHARE = 1;
const FAST_TAU_S = 30;

/**
 * The error to expect of a charge whose parameters hold no slow polarisation, as times: the same charge with a usual slow
 * branch added to each cell that lacks one. Null where every cell has one, the charge is short, or nothing flows.
 *
 */
export function slowPolarisationError(setup: ChargeSetup, charge: SimulatedChargeResult): ChargeNote | null {
  const lacking = setup.cells.map(({ cell }) => !hasSlowBranch(cell.model));
  const flows = charge.phases.some(({ kind }) => kind !== 'rest' && kind !== 'paused');
  if (!flows || !lacking.includes(true) || charge.endTimeS - setup.restAfterS < CHARGE_FROM_S) return null;
  const cells = setup.cells.map((charged, k) =>
    lacking[k] ? { ...charged, cell: new CompiledCell(withUsualSlowBranch(charged.cell.model)) } : charged,
  );
  const slower = simulateCharge({ ...setup, cells, seriesStepS: null });
  const limits = [charge, slower].map(({ limits: found }) => voltageLimitAt(found));
  const names = charge.cells.filter((_, k) => lacking[k]).map(({ name }) => name);
  const parts = [
    limits[0] === null || limits[1] === null ? null : `its voltage limit at ${change(limits[0], limits[1])}`,
    `the end at ${change(charge.endTimeS - setup.restAfterS, slower.endTimeS - setup.restAfterS)}`,
  ].filter((part) => part !== null);
  return {
    code: 'expected-slow-error',
    message:
      `${names.join(', ')}: no branch slower than ${SLOW_FROM_S / 60} min. Expected error: with half as much resistance again that builds up in ` +
      `${SLOW_TAU_S / 60} min (common practice) the charge meets ${parts.join(', and ')}.`,
  };
}

function hasSlowBranch({ branches }: CellModel): boolean {
  return branches.some(({ rOhm, tauS }) => rOhm.some((r, i) => r > 0 && tauS[i] >= SLOW_FROM_S));
}

function withUsualSlowBranch(model: CellModel): CellModel {
  const added = (share: number, of: Float64Array, tauS: number) => ({
    rOhm: of.map((r) => share * r),
    tauS: new Float64Array(of.length).fill(tauS),
  });
  const { r0Ohm, branches } = model;
  const fast = branches.length === 0 ? [added(FAST_SHARE, r0Ohm, FAST_TAU_S)] : branches;
  const whole = r0Ohm.map((r0, i) => fast.reduce((sum, { rOhm }) => sum + rOhm[i], r0));
  return { ...model, branches: [...fast, added(SLOW_SHARE, whole, SLOW_TAU_S)] };
}

/** When a voltage of a cell or of the stack was first met; null where none was. */
function voltageLimitAt(
  limits: readonly { readonly limit: string; readonly startTimeS: number }[],
): number | null {
  return (
    limits.find(({ limit }) => limit === 'cell-voltage' || limit === 'stack-voltage')?.startTimeS ?? null
  );
}

function change(hereS: number, thereS: number): string {
  const percent =
    hereS > 0
      ? ` (${thereS >= hereS ? '+' : '−'}${Math.abs((100 * (thereS - hereS)) / hereS).toFixed(0)} %)`
      : '';
  return `${minutes(thereS)} instead of ${minutes(hereS)} min${percent}`;
}

function minutes(s: number): string {
  return (s / 60).toFixed(1);
}
