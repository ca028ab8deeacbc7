import type { CapacityResult, CapacityRun } from '../../../../server/contract/capacity.ts';
import { percent, significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { span } from '../../format/time.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';
import { OpenCircuitCharts } from './OpenCircuitCharts.tsx';

const definitions: Readonly<Record<string, string>> = {
  'interpolated-crossing':
    'The end of a discharge is where the voltage crosses the cut-off, interpolated between samples.',
  'first-sample-below': 'The end of a discharge is the first sample below the cut-off.',
  'whole-record': 'The whole record counts.',
};

/** Charge and discharge runs of a record with capacity, energy and efficiency. */
export function CapacityView({ result }: { result: CapacityResult }) {
  const [units] = useUnits();
  return (
    <>
      <h2>Capacity</h2>
      <p>{definitions[result.definition]}</p>
      {result.warnings.map((w) => (
        <p key={w.code} className="warning">
          {warningSentence(w.code)}
          {w.runs.length > 0 &&
            ` Runs: ${w.runs
              .slice(0, 12)
              .map((r) => r + 1)
              .join(', ')}${w.runs.length > 12 ? '…' : ''}.`}
        </p>
      ))}
      <Sheet
        label="Runs"
        head={[
          'Run',
          'Direction',
          'Capacity',
          'Energy',
          'Cut-off',
          'Mean current',
          'Duration',
          'Temperature',
          'Remarks',
        ]}
        rows={result.runs.map((run) => [
          run.label ?? String(run.index + 1),
          run.direction,
          withSpread(quantity(run.capacityAh, 'Ah', units, 5), run.standardUncertaintyAh),
          quantity(run.energyWh, 'Wh', units),
          run.cutoffVoltageV === null ? '–' : `${significant(run.cutoffVoltageV, 4)} V`,
          run.meanCurrentA === null ? '–' : `${significant(run.meanCurrentA, 3)} A`,
          span(run.endTimeS - run.startTimeS),
          run.temperatureMeanC === null ? '–' : `${significant(run.temperatureMeanC, 3)} °C`,
          remarks(run),
        ])}
        numeric={[2, 3, 4, 5, 6, 7]}
      />
      {result.cycles.length > 0 && (
        <>
          <h3>Efficiency of each cycle</h3>
          <Sheet
            label="Efficiency"
            head={['Charge run', 'Discharge run', 'Coulombic', 'Energy', 'Remark']}
            rows={result.cycles.map((c) => [
              c.chargeRun === null ? '–' : String(c.chargeRun + 1),
              c.dischargeRun === null ? '–' : String(c.dischargeRun + 1),
              c.coulombicEfficiency === null ? '–' : percent(c.coulombicEfficiency, 2),
              c.energyEfficiency === null ? '–' : percent(c.energyEfficiency, 2),
              reasonSentence(c.reason),
            ])}
            numeric={[2, 3]}
          />
        </>
      )}
      {result.openCircuit !== null && (
        <>
          <h2>Open-circuit voltage</h2>
          <OpenCircuitCharts curve={result.openCircuit} />
        </>
      )}
    </>
  );
}

/** A value with its standard uncertainty in mAh; the value alone where none is known. */
function withSpread(value: string, uncertaintyAh: number | null): string {
  return uncertaintyAh === null ? value : `${value} ± ${significant(1000 * uncertaintyAh, 2)} mAh`;
}

function remarks(run: CapacityRun): string {
  const parts = [reasonSentence(run.reason), reasonSentence(run.conditional)];
  if (!run.plausible) parts.push(reasonSentence(run.implausibleReason));
  if (run.phases !== null) {
    parts.push(`${percent(run.phases.constantCurrentShare, 0)} of the charge at constant current.`);
  }
  for (const t of run.chargeTimes) {
    if (t.timeS !== null) parts.push(`${percent(t.soc, 0)} after ${span(t.timeS)}.`);
  }
  return parts.filter((p) => p !== '').join(' ');
}

const warnings: Readonly<Record<string, string>> = {
  'implausible-capacity': 'Some capacities are implausible: kept as measured, left out of fits.',
  'did-not-reach-cutoff': 'Some discharges ended before the cut-off; they have no capacity.',
  'cutoff-taken-from-record': 'No cut-off was stated; the lowest voltage of the record was taken.',
  'no-runs': 'No charge or discharge was found in the record.',
  'gap-in-record':
    'Rows are missing under load. Where the voltage says that the current flowed on, it is taken to run straight across; otherwise no capacity is reported.',
  'bad-rows-replaced': 'Single readings that cannot be the cell’s were replaced by what stands around them.',
  'dip-below-cutoff':
    'The voltage was below the cut-off and came back under the same load; that is not taken for the end.',
  'pause-without-rows':
    'Rows are missing; the voltage says that the current rested, so no charge is counted there.',
  'starts-under-load': 'The record begins under load: what went before is not in it.',
  'voltage-against-current': 'The voltage moves against the current: its sign is wrong or missing.',
  'current-offset-corrected': 'The current reads an offset in rest, which was taken off.',
  'start-up-spike-ignored': 'A spike at the start of the current was left out.',
};

function warningSentence(code: string): string {
  return warnings[code] ?? `${plainCode(code)}.`;
}
