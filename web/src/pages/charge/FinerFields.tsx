import { Checkbox } from '@mantine/core';
import { useState } from 'react';
import { NumberField } from '../../parts/NumberField.tsx';
import { EfficiencyPoints } from './ConverterFields.tsx';
import { Always, Choice, Optional, Rows } from './fieldKinds.tsx';
import type { StudyFieldsProps } from './studyFieldsProps.ts';
import { startingInputs, type ZoneInput } from './studyInputs.ts';

const finer = [
  'zones',
  'zoneHysteresisK',
  'prechargeBelowV',
  'steppedTaper',
  'sourceStepA',
  'regulatorMaxA',
  'restAfterMinutes',
  'longestHours',
] as const;

/** What many studies do without, folded away until it is wanted or already set. */
export function FinerFields(props: StudyFieldsProps) {
  const set = finer.some(
    (name) => JSON.stringify(props.inputs[name]) !== JSON.stringify(startingInputs[name]),
  );
  const [open, setOpen] = useState(set);
  return (
    <details className="finer" open={open} onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>Temperature zones, precharge, stepped taper, regulator</summary>
      <Zones {...props} />
      <BeginAndEnd {...props} />
      <Regulator {...props} />
    </details>
  );
}

function Zones(props: StudyFieldsProps) {
  const { inputs, onChange } = props;
  return (
    <fieldset className="inputs">
      <legend>Temperature zones</legend>
      <p className="help">
        Each with its own limits, beside those of the datasheet. Outside every zone the charge pauses.
      </p>
      <Rows<ZoneInput>
        what="zone"
        most={12}
        rows={inputs.zones}
        next={nextZone}
        onChange={(zones) => onChange({ ...inputs, zones })}
      >
        {(zone, change, i) => (
          <>
            <NumberField
              size="xs"
              label={`Zone ${i + 1} from, °C`}
              signed
              value={zone.fromC}
              onChange={(v) => v !== null && change({ fromC: v })}
            />
            <NumberField
              size="xs"
              label="to, °C"
              signed
              value={zone.toC}
              onChange={(v) => v !== null && change({ toC: v })}
            />
            <NumberField
              size="xs"
              label="at most, C"
              description="Empty: no limit"
              min={0}
              value={zone.maxRateC}
              onChange={(v) => change({ maxRateC: v })}
            />
            <NumberField
              size="xs"
              label="cell at most, V"
              description="Empty: no limit"
              min={0}
              value={zone.maxCellVoltageV}
              onChange={(v) => change({ maxCellVoltageV: v })}
            />
          </>
        )}
      </Rows>
      <Always
        {...props}
        name="zoneHysteresisK"
        label="Left when beyond its edge by, K"
        help="Also a zone of the datasheet; 0 holds the cell at the edge"
        min={0}
      />
    </fieldset>
  );
}

/** The zone above the last one, as wide as charging at room temperature usually is. */
function nextZone(zones: readonly ZoneInput[]): ZoneInput {
  const fromC = zones.length === 0 ? 10 : zones[zones.length - 1].toC;
  return { fromC, toC: zones.length === 0 ? 45 : fromC + 10, maxRateC: null, maxCellVoltageV: null };
}

function BeginAndEnd(props: StudyFieldsProps) {
  const { inputs, onChange } = props;
  return (
    <fieldset className="inputs">
      <legend>Precharge, taper and rest</legend>
      <Optional {...props} name="prechargeBelowV" label="Precharge below, V per cell" help="Empty: none" />
      {inputs.prechargeBelowV !== null && (
        <Always {...props} name="prechargeRateC" label="Precharge rate, C" min={0.001} />
      )}
      <Checkbox
        size="xs"
        label="Taper in steps of the source’s current"
        checked={inputs.steppedTaper}
        onChange={(e) => onChange({ ...inputs, steppedTaper: e.currentTarget.checked })}
      />
      <Optional
        {...props}
        name="sourceStepA"
        label="Current step of the source, A"
        help="A stepped taper needs it"
      />
      <Always {...props} name="restAfterMinutes" label="Rest after the end, min" min={0} />
      <Always {...props} name="longestHours" label="Ends at the latest after, h" min={0.01} />
    </fieldset>
  );
}

const kinds = {
  'step-down': 'above the stack',
  'step-up': 'below the stack',
  'step-up-down': 'above or below',
} as const;

function Regulator(props: StudyFieldsProps) {
  const { inputs, onChange } = props;
  return (
    <fieldset className="inputs">
      <legend>Switching regulator</legend>
      <p className="help">
        For precharge and the end of the charge; the fixed ratio does the fast part. Needs a source.
      </p>
      <Optional {...props} name="regulatorMaxA" label="Gives at most, A" help="Empty: no regulator" />
      {inputs.regulatorMaxA !== null && (
        <>
          <Choice
            label="Its input lies"
            value={inputs.regulatorKind}
            choices={kinds}
            onChoose={(regulatorKind) => onChange({ ...inputs, regulatorKind })}
          />
          <Always {...props} name="regulatorInputV" label="Asks the source for, V" min={0.1} />
          <Always {...props} name="regulatorHeadroomV" label="Input and stack apart by, V" min={0} />
          {inputs.regulatorEfficiencyTable.length < 2 && (
            <Always
              {...props}
              name="regulatorEfficiencyPercent"
              label="Its efficiency, %"
              min={1}
              max={100}
            />
          )}
          <EfficiencyPoints
            of="Regulator: "
            points={inputs.regulatorEfficiencyTable}
            usualPercent={inputs.regulatorEfficiencyPercent}
            onChange={(regulatorEfficiencyTable) => onChange({ ...inputs, regulatorEfficiencyTable })}
          />
        </>
      )}
      <Optional {...props} name="regulatorBelowStackV" label="Works below, V of the stack" help="Empty: 0" />
      <Optional {...props} name="regulatorBelowOutputA" label="and below, A into the stack" help="Empty: 0" />
    </fieldset>
  );
}
