import { Checkbox } from '@mantine/core';
import { useState } from 'react';
import { NumberField } from '../../parts/NumberField.tsx';
import { say } from '../../words/i18n.ts';
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
      <summary>{say('charge.temperatureZonesPrechargeSteppedTaperRegulator')}</summary>
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
      <legend>{say('charge.temperatureZones')}</legend>
      <p className="help">{say('charge.eachWithItsOwnLimitsBeside')}</p>
      <Rows<ZoneInput>
        what={say('charge.zone')}
        most={12}
        rows={inputs.zones}
        next={nextZone}
        onChange={(zones) => onChange({ ...inputs, zones })}
      >
        {(zone, change, i) => (
          <>
            <NumberField
              size="xs"
              label={say('charge.zoneIFromC', { i: i + 1 })}
              signed
              value={zone.fromC}
              onChange={(v) => v !== null && change({ fromC: v })}
            />
            <NumberField
              size="xs"
              label={say('charge.toC')}
              signed
              value={zone.toC}
              onChange={(v) => v !== null && change({ toC: v })}
            />
            <NumberField
              size="xs"
              label={say('charge.atMostC')}
              description={say('charge.emptyNoLimit')}
              min={0}
              value={zone.maxRateC}
              onChange={(v) => change({ maxRateC: v })}
            />
            <NumberField
              size="xs"
              label={say('charge.cellAtMostV')}
              description={say('charge.emptyNoLimit')}
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
        label={say('charge.leftWhenBeyondItsEdgeBy')}
        help={say('charge.alsoAZoneOfTheDatasheet')}
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
      <legend>{say('charge.prechargeTaperAndRest')}</legend>
      <Optional
        {...props}
        name="prechargeBelowV"
        label={say('charge.prechargeBelowVPerCell')}
        help={say('charge.emptyNone')}
      />
      {inputs.prechargeBelowV !== null && (
        <Always {...props} name="prechargeRateC" label={say('charge.prechargeRateC')} min={0.001} />
      )}
      <Checkbox
        size="xs"
        label={say('charge.taperInStepsOfTheSource')}
        checked={inputs.steppedTaper}
        onChange={(e) => onChange({ ...inputs, steppedTaper: e.currentTarget.checked })}
      />
      <Optional
        {...props}
        name="sourceStepA"
        label={say('charge.currentStepOfTheSourceA')}
        help={say('charge.aSteppedTaperNeedsIt')}
      />
      <Always {...props} name="restAfterMinutes" label={say('charge.restAfterTheEndMin')} min={0} />
      <Always {...props} name="longestHours" label={say('charge.endsAtTheLatestAfterH')} min={0.01} />
    </fieldset>
  );
}

const kinds = {
  'step-down': say('charge.aboveTheStack'),
  'step-up': say('charge.belowTheStack'),
  'step-up-down': say('charge.aboveOrBelow'),
} as const;

function Regulator(props: StudyFieldsProps) {
  const { inputs, onChange } = props;
  return (
    <fieldset className="inputs">
      <legend>{say('charge.switchingRegulator')}</legend>
      <p className="help">{say('charge.forPrechargeAndTheEndOf')}</p>
      <Optional
        {...props}
        name="regulatorMaxA"
        label={say('charge.givesAtMostA')}
        help={say('charge.emptyNoRegulator')}
      />
      {inputs.regulatorMaxA !== null && (
        <>
          <Choice
            label={say('charge.itsInputLies')}
            value={inputs.regulatorKind}
            choices={kinds}
            onChoose={(regulatorKind) => onChange({ ...inputs, regulatorKind })}
          />
          <Always {...props} name="regulatorInputV" label={say('charge.asksTheSourceForV')} min={0.1} />
          <Always {...props} name="regulatorHeadroomV" label={say('charge.inputAndStackApartByV')} min={0} />
          {inputs.regulatorEfficiencyTable.length < 2 && (
            <Always
              {...props}
              name="regulatorEfficiencyPercent"
              label={say('charge.itsEfficiency')}
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
      <Optional
        {...props}
        name="regulatorBelowStackV"
        label={say('charge.worksBelowVOfTheStack')}
        help={say('charge.empty0')}
      />
      <Optional
        {...props}
        name="regulatorBelowOutputA"
        label={say('charge.andBelowAIntoTheStack')}
        help={say('charge.empty0')}
      />
    </fieldset>
  );
}
