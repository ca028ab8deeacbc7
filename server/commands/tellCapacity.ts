import type { CapacityResult, CapacityRun } from '../contract/capacity.ts';
import { curveLine } from './curveLine.ts';
import { plusMinus } from './plusMinus.ts';

const sentences: Readonly<Record<CapacityResult['warnings'][number]['code'], string>> = {
  'implausible-capacity': 'the capacity is implausible',
  'did-not-reach-cutoff': 'the discharge ended before the cut-off',
  'cutoff-taken-from-record': 'no cut-off was stated, so the whole discharge counts; state one with --cutoff',
  'no-runs': 'the record holds no charge or discharge',
  'gap-in-record': 'rows are missing while current may have flowed',
  'start-up-spike-ignored': 'a spike of the current at the start was left out',
  'bad-rows-replaced': 'single readings that cannot be the cell’s were replaced by what stands around them',
  'dip-below-cutoff':
    'the voltage was below the cut-off and came back under the same load; that is not taken for the end',
  'pause-without-rows':
    'rows are missing; the voltage says that the current rested, so no charge is counted there',
  'starts-under-load':
    'the record begins under load: what went before belongs to the run and is not in the record',
  'ends-under-load':
    'the record ends under load and no cut-off shows that the run was over: what came after is not in it',
  'voltage-against-current':
    'the voltage moves against the current, so the current’s sign is wrong or missing: state --current-sign, or name the column that states charge or discharge',
  'current-offset-corrected': 'the current reads an offset in rest, which was taken off',
};

/** One line for a warning of a capacity evaluation, with the rows of the file (counted from 1). */
export function capacityWarning(
  { code, runs, rows }: CapacityResult['warnings'][number],
  result: CapacityResult,
): string {
  const offset =
    code === 'current-offset-corrected' && result.currentOffsetA !== null
      ? ` (${(1000 * result.currentOffsetA).toPrecision(3)} mA)`
      : '';
  const about = runs.length > 0 ? `; runs ${runs.join(', ')}` : '';
  const where =
    rows.length > 0
      ? `; rows ${rows
          .slice(0, 10)
          .map((row) => row + 1)
          .join(', ')}${rows.length > 10 ? ' …' : ''}`
      : '';
  return `${code}: ${sentences[code]}${offset}${about}${where}`;
}

/** The runs and cycles of a capacity evaluation as text. */
export function tellCapacity(result: CapacityResult): string {
  const lines = result.runs.map(runLine);
  for (const cycle of result.cycles) {
    if (cycle.coulombicEfficiency === null || cycle.energyEfficiency === null) continue;
    lines.push(
      `cycle of runs ${cycle.chargeRun} and ${cycle.dischargeRun}: coulombic ${(100 * cycle.coulombicEfficiency).toFixed(2)} %, energy ${(100 * cycle.energyEfficiency).toFixed(2)} %`,
    );
  }
  const systematic = result.runs.find((run) => run.systematic !== null)?.systematic;
  if (systematic) {
    const offset =
      systematic.perMilliampOfOffsetAh === null
        ? ''
        : ', and an offset of 1 mA, which no rest of the record shows, ' +
          `${(1000 * systematic.perMilliampOfOffsetAh).toPrecision(2)} mAh`;
    lines.push(
      `The uncertainties hold sampling, noise and resolution. The accuracy of the instrument comes on top: a gain of 0.1 % changes the first capacity by ${(100 * systematic.perPercentOfGainAh).toPrecision(2)} mAh${offset}.`,
    );
  }
  const { openCircuit } = result;
  if (openCircuit !== null) {
    lines.push(curveLine(openCircuit));
  }
  return lines.join('\n');
}

function runLine(run: CapacityRun): string {
  const name = `${run.index}${run.label === null ? '' : ` (${run.label})`} ${run.direction}`;
  const amount =
    run.capacityAh === null
      ? `no capacity (${run.reason}), ${run.chargeToEndAh.toFixed(4)} Ah to the end of the record`
      : `${plusMinus(run.capacityAh, run.standardUncertaintyAh, 'Ah')}, ${(run.energyWh ?? run.energyToEndWh).toFixed(3)} Wh${run.conditional === null ? '' : ` (conditional: ${run.conditional === 'ends-under-load' ? 'the record ends' : 'the record begins'} under load)`}`;
  const shares =
    run.phases === null
      ? ''
      : `, ${(100 * run.phases.constantVoltageShare).toFixed(1)} % of it at constant voltage`;
  const times = run.chargeTimes.flatMap(({ soc, timeS }) =>
    timeS === null ? [] : [`${100 * soc} % of it after ${(timeS / 60).toFixed(1)} min`],
  );
  return `${name}: ${amount}${shares}${times.length > 0 ? `; ${times.join(', ')}` : ''}${run.plausible ? '' : ` (marked: ${run.implausibleReason})`}`;
}
