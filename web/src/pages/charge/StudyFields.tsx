import { Checkbox } from '@mantine/core';
import { NumberField } from '../../parts/NumberField.tsx';
import { say } from '../../words/i18n.ts';
import { ConverterFields } from './ConverterFields.tsx';
import { FinerFields } from './FinerFields.tsx';
import { Always, Choice, Optional } from './fieldKinds.tsx';
import { QuestionFields } from './QuestionFields.tsx';
import { StageFields } from './StageFields.tsx';
import type { StudyFieldsProps } from './studyFieldsProps.ts';

/** The inputs of a charge study in the order of the way from the cells to the wall. */
export function StudyFields({
  cellNames,
  ...props
}: StudyFieldsProps & { readonly cellNames: readonly string[] }) {
  return (
    <>
      <CellFields {...props} cellNames={cellNames} />
      <StageFields {...props} />
      <BypassFields {...props} />
      <fieldset className="inputs">
        <legend>{say('charge.sourceAndCable')}</legend>
        <Optional
          {...props}
          name="sourceMaxV"
          label={say('charge.highestVoltageV')}
          help={say('charge.emptyNoSourceDescribed')}
        />
        <Optional
          {...props}
          name="sourceMinV"
          label={say('charge.lowestVoltageV')}
          help={say('charge.empty0')}
        />
        <Optional
          {...props}
          name="sourceStepV"
          label={say('charge.stepOfItsVoltageV')}
          help={say('charge.emptyNone')}
        />
        <Optional {...props} name="sourceMaxA" label={say('charge.highestCurrentA')} help="" />
        <Optional
          {...props}
          name="sourceMaxW"
          label={say('charge.highestPowerW')}
          help={say('charge.emptyNoLimit')}
        />
        <Optional
          {...props}
          name="cableMilliohm"
          label={say('charge.cableResistanceBothConductorsM')}
          help={say('charge.emptyNone')}
        />
        <Optional
          {...props}
          name="cableMaxA"
          label={say('charge.cableCarriesA')}
          help={say('charge.emptyNoLimit')}
        />
      </fieldset>
      <ConverterFields {...props} />
      <fieldset className="inputs">
        <legend>{say('charge.betweenChargerAndCells')}</legend>
        <Optional
          {...props}
          name="toSenseMilliohm"
          label={say('charge.upToTheSensePointM')}
          help={say('charge.boardSwitchConnector')}
        />
        <Optional
          {...props}
          name="beyondSenseMilliohm"
          label={say('charge.fromThereToTheCellsM')}
          help={say('charge.emptySensedAtTheCells')}
        />
      </fieldset>
      <FinerFields {...props} />
      <QuestionFields {...props} />
    </>
  );
}

const watches = {
  'per-cell': say('charge.eachCell'),
  'stack-only': say('charge.onlyTheStackAWarningExample'),
} as const;

function CellFields({ cellNames, ...props }: StudyFieldsProps & { readonly cellNames: readonly string[] }) {
  const { inputs, onChange } = props;
  return (
    <fieldset className="inputs">
      <legend>{say('charge.cells')}</legend>
      <p className="help">{say('charge.capacityOpenCircuitVoltageAndResistances')}</p>
      <Always {...props} name="startSocPercent" label={say('charge.socAtTheStart')} min={0} max={100} />
      <Always {...props} name="ambientTemperatureC" label={say('charge.surroundingsC')} signed />
      <Optional
        {...props}
        name="cellVoltageLimitV"
        label={say('charge.voltageLimitOfEachCellV')}
        help={say('charge.emptyTheDatasheetS')}
      />
      <Optional
        {...props}
        name="maxTemperatureC"
        label={say('charge.highestTemperatureC')}
        help={say('charge.emptyTheDatasheetS')}
        signed
      />
      <details className="finer">
        <summary>{say('charge.startOfEachCellHeatBalance')}</summary>
        {cellNames.length > 1 &&
          cellNames.map((name, k) => (
            <NumberField
              key={name}
              size="xs"
              label={say('charge.socOfNameAtTheStart', { name })}
              description={say('charge.emptyAsAbove')}
              min={0}
              max={100}
              value={inputs.startSocOfCells[k] ?? null}
              onChange={(v) =>
                onChange({
                  ...inputs,
                  startSocOfCells: cellNames.map((_, j) =>
                    j === k ? v : (inputs.startSocOfCells[j] ?? null),
                  ),
                })
              }
            />
          ))}
        <Optional
          {...props}
          name="startTemperatureC"
          label={say('charge.cellsAtTheStartC')}
          help={say('charge.emptyAsTheSurroundings')}
          signed
        />
        <Optional
          {...props}
          name="heatCapacityJPerK"
          label={say('charge.heatCapacityOfACellJ')}
          help={say('charge.emptyOfTheCellTypeOr')}
        />
        <Optional
          {...props}
          name="heatTransferWPerK"
          label={say('charge.heatTransferOfACellW')}
          help={say('charge.emptyOfTheCellTypeOr')}
        />
        <Choice
          label={say('charge.watchedIsTheVoltageOf')}
          value={inputs.watch}
          choices={watches}
          onChoose={(watch) => onChange({ ...inputs, watch })}
        />
        {inputs.watch === 'stack-only' && (
          <Optional
            {...props}
            name="stackVoltageLimitV"
            label={say('charge.limitOfTheStackVoltageV')}
            help={say('charge.emptyTheSumOfTheCells')}
          />
        )}
      </details>
    </fieldset>
  );
}

function BypassFields(props: StudyFieldsProps) {
  const { inputs, onChange } = props;
  return (
    <fieldset className="inputs">
      <legend>{say('charge.balancingByBypass')}</legend>
      <p className="help">{say('charge.theSameAtEveryCell')}</p>
      <Optional
        {...props}
        name="bypassCurrentA"
        label={say('charge.bypassOfEachCellA')}
        help={say('charge.emptyNone')}
      />
      <Optional
        {...props}
        name="bypassOhm"
        label={say('charge.orByAResistor')}
        help={say('charge.emptyNone')}
      />
      <Optional
        {...props}
        name="bypassStartV"
        label={say('charge.fromTheCellVoltageV')}
        help={say('charge.worksAtAndAboveIt')}
      />
      <Optional
        {...props}
        name="bypassStopV"
        label={say('charge.downToV')}
        help={say('charge.empty20MvLower')}
      />
      <Checkbox
        size="xs"
        label={say('charge.worksOnInTheRestAfter')}
        checked={inputs.bypassAtRest}
        onChange={(e) => onChange({ ...inputs, bypassAtRest: e.currentTarget.checked })}
      />
    </fieldset>
  );
}
