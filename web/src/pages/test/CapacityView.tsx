import type { CapacityResult, CapacityRun } from '../../../../server/contract/capacity.ts';
import { percent, significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { span } from '../../format/time.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';
import { OpenCircuitCharts } from './OpenCircuitCharts.tsx';

const definitions: Readonly<Record<string, string>> = {
  'interpolated-crossing': say('test.theEndOfADischargeIs'),
  'first-sample-below': say('test.theEndOfADischargeIsThe'),
  'whole-record': say('test.theWholeRecordCounts'),
};

/** Charge and discharge runs of a record with capacity, energy and efficiency. */
export function CapacityView({ result }: { result: CapacityResult }) {
  const [units] = useUnits();
  return (
    <>
      <h2>{say('test.capacity')}</h2>
      <p>{definitions[result.definition]}</p>
      {result.warnings.map((w) => (
        <p key={w.code} className="warning">
          {warningSentence(w.code)}
          {w.runs.length > 0 &&
            say('test.runsRunsWord', {
              runs: w.runs
                .slice(0, 12)
                .map((r) => r + 1)
                .join(', '),
              word: w.runs.length > 12 ? '…' : '',
            })}
        </p>
      ))}
      <Sheet
        label={say('test.runs')}
        head={[
          say('test.run'),
          say('test.direction'),
          say('test.capacity'),
          say('test.energy'),
          say('test.cutOff'),
          say('test.meanCurrent'),
          say('test.duration'),
          say('test.temperature'),
          say('test.remarks'),
        ]}
        rows={result.runs.map((run) => [
          run.label ?? String(run.index + 1),
          plainCode(run.direction),
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
          <h3>{say('test.efficiencyOfEachCycle')}</h3>
          <Sheet
            label={say('test.efficiency')}
            head={[
              say('test.chargeRun'),
              say('test.dischargeRun'),
              say('test.coulombic'),
              say('test.energy'),
              say('test.remark'),
            ]}
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
          <h2>{say('test.openCircuitVoltage')}</h2>
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
    parts.push(
      say('test.ofTheChargeAtConstantCurrent', {
        constantCurrentShare: percent(run.phases.constantCurrentShare, 0),
      }),
    );
  }
  for (const t of run.chargeTimes) {
    if (t.timeS !== null)
      parts.push(say('test.socAfterTimeS', { soc: percent(t.soc, 0), timeS: span(t.timeS) }));
  }
  return parts.filter((p) => p !== '').join(' ');
}

const warnings: Readonly<Record<string, string>> = {
  'implausible-capacity': say('test.someCapacitiesAreImplausibleKeptAs'),
  'did-not-reach-cutoff': say('test.someDischargesEndedBeforeTheCut'),
  'cutoff-taken-from-record': say('test.noCutOffWasStatedThe'),
  'no-runs': say('test.noChargeOrDischargeWasFound'),
  'gap-in-record': say('test.rowsAreMissingUnderLoadWhere'),
  'bad-rows-replaced': say('test.singleReadingsThatCannotBeThe'),
  'dip-below-cutoff': say('test.theVoltageWasBelowTheCut'),
  'pause-without-rows': say('test.rowsAreMissingTheVoltageSays'),
  'starts-under-load': say('test.theRecordBeginsUnderLoadWhat'),
  'ends-under-load': say('test.theRecordEndsUnderLoad'),
  'voltage-against-current': say('test.theVoltageMovesAgainstTheCurrent'),
  'current-offset-corrected': say('test.theCurrentReadsAnOffsetIn'),
  'start-up-spike-ignored': say('test.aSpikeAtTheStartOf'),
};

function warningSentence(code: string): string {
  return warnings[code] ?? `${plainCode(code)}.`;
}
