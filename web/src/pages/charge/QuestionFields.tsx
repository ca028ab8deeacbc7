import { Checkbox } from '@mantine/core';
import { Always, Numbers, Optional } from './fieldKinds.tsx';
import type { StudyFieldsProps } from './studyFieldsProps.ts';

/** What is asked beside the charge itself, each with what it needs. */
export function QuestionFields(props: StudyFieldsProps) {
  const { inputs, onChange } = props;
  const question = (
    name: 'rateSearch' | 'stagedProfile' | 'stackOnly' | 'rateTable' | 'withLife',
    label: string,
  ) => (
    <Checkbox
      size="xs"
      label={label}
      checked={inputs[name]}
      onChange={(e) => onChange({ ...inputs, [name]: e.currentTarget.checked })}
    />
  );
  return (
    <fieldset className="inputs">
      <legend>Questions</legend>
      <Always {...props} name="targetSocPercent" label="Time until SOC, %" min={1} max={100} />
      <Always
        {...props}
        name="draws"
        label="Random draws for the uncertainty"
        min={0}
        max={20000}
        help="0: none"
      />
      {inputs.draws > 0 && <Uncertainties {...props} />}
      {question('rateSearch', 'Highest rate that keeps every limit')}
      {inputs.rateSearch && (
        <>
          <Always {...props} name="leastRateC" label="Search from, C" min={0.001} />
          <Optional {...props} name="mostRateC" label="Search to, C" help="Empty: the datasheet’s rating" />
          <Optional
            {...props}
            name="leastSocAtLimitPercent"
            label="Voltage limit not before SOC, %"
            help="Empty: anywhere"
            max={100}
          />
          <Always {...props} name="tradeOffPoints" label="Points of the trade-off" min={2} max={30} />
          {question('withLife', 'Life against rate, from the cycled cells')}
        </>
      )}
      {question('stagedProfile', 'A staged profile')}
      {inputs.stagedProfile && (
        <Always {...props} name="profileStages" label="Stages of the profile" min={2} max={8} />
      )}
      {question('rateTable', 'Rates over temperature and resistance growth')}
      {inputs.rateTable && (
        <>
          <Numbers {...props} name="rateTableC" label="At temperatures, °C" />
          <Numbers
            {...props}
            name="rateTableGrowthPercent"
            label="At growths of the resistances, %"
            min={0}
          />
        </>
      )}
      {inputs.watch === 'per-cell' && question('stackOnly', 'What if only the stack voltage were watched')}
    </fieldset>
  );
}

function Uncertainties(props: StudyFieldsProps) {
  return (
    <>
      <Optional
        {...props}
        name="capacityUncertaintyPercent"
        label="Uncertainty of the capacity, %"
        help="Empty: of the fits"
      />
      <Optional
        {...props}
        name="r0UncertaintyPercent"
        label="Uncertainty of R0, %"
        help="Empty: of the fits"
      />
      <Optional
        {...props}
        name="branchUncertaintyPercent"
        label="Uncertainty of the branches, %"
        help="Empty: of the fits"
      />
      <Optional
        {...props}
        name="resistanceCorrelation"
        label="Correlation of these two"
        help="−1 to 1; empty: of the fits"
        signed
        min={-1}
        max={1}
      />
      <Optional
        {...props}
        name="ocvUncertaintyMillivolt"
        label="Uncertainty of the OCV, mV"
        help="Empty: of the fits"
      />
      <Optional
        {...props}
        name="startSocUncertaintyPercent"
        label="Uncertainty of the start SOC, %"
        help="Empty: none"
      />
      <Optional
        {...props}
        name="startTemperatureUncertaintyK"
        label="Uncertainty of the start temperature, K"
        help="Empty: none"
      />
      <Optional
        {...props}
        name="heatCapacityUncertaintyPercent"
        label="Uncertainty of the heat capacity, %"
        help="Empty: none"
      />
      <Optional
        {...props}
        name="heatTransferUncertaintyPercent"
        label="Uncertainty of the heat transfer, %"
        help="Empty: none"
      />
      <Always {...props} name="drawLevelPercent" label="Interval that holds, %" min={1} max={99.9} />
      <Always
        {...props}
        name="drawSeed"
        label="Seed of the draws"
        min={0}
        help="The same seed, the same draws"
      />
    </>
  );
}
