import { Checkbox } from '@mantine/core';
import { say } from '../../words/i18n.ts';
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
      <legend>{say('charge.questions')}</legend>
      <Always {...props} name="targetSocPercent" label={say('charge.timeUntilSoc')} min={1} max={100} />
      <Always
        {...props}
        name="draws"
        label={say('charge.randomDrawsForTheUncertainty')}
        min={0}
        max={20000}
        help={say('charge.n0None')}
      />
      {inputs.draws > 0 && <Uncertainties {...props} />}
      {question('rateSearch', say('charge.highestRateThatKeepsEveryLimit'))}
      {inputs.rateSearch && (
        <>
          <Always {...props} name="leastRateC" label={say('charge.searchFromC')} min={0.001} />
          <Optional
            {...props}
            name="mostRateC"
            label={say('charge.searchToC')}
            help={say('charge.emptyTheDatasheetSRating')}
          />
          <Optional
            {...props}
            name="leastSocAtLimitPercent"
            label={say('charge.voltageLimitNotBeforeSoc')}
            help={say('charge.emptyAnywhere')}
            max={100}
          />
          <Always
            {...props}
            name="tradeOffPoints"
            label={say('charge.pointsOfTheTradeOff')}
            min={2}
            max={30}
          />
          {question('withLife', say('charge.lifeAgainstRateFromTheCycled'))}
        </>
      )}
      {question('stagedProfile', say('charge.aStagedProfile'))}
      {inputs.stagedProfile && (
        <Always {...props} name="profileStages" label={say('charge.stagesOfTheProfile')} min={2} max={8} />
      )}
      {question('rateTable', say('charge.ratesOverTemperatureAndResistanceGrowth'))}
      {inputs.rateTable && (
        <>
          <Numbers {...props} name="rateTableC" label={say('charge.atTemperaturesC')} />
          <Numbers
            {...props}
            name="rateTableGrowthPercent"
            label={say('charge.atGrowthsOfTheResistances')}
            min={0}
          />
        </>
      )}
      {inputs.watch === 'per-cell' && question('stackOnly', say('charge.whatIfOnlyTheStackVoltage'))}
    </fieldset>
  );
}

function Uncertainties(props: StudyFieldsProps) {
  return (
    <>
      <Optional
        {...props}
        name="capacityUncertaintyPercent"
        label={say('charge.uncertaintyOfTheCapacity')}
        help={say('charge.emptyOfTheFits')}
      />
      <Optional
        {...props}
        name="r0UncertaintyPercent"
        label={say('charge.uncertaintyOfR0')}
        help={say('charge.emptyOfTheFits')}
      />
      <Optional
        {...props}
        name="branchUncertaintyPercent"
        label={say('charge.uncertaintyOfTheBranches')}
        help={say('charge.emptyOfTheFits')}
      />
      <Optional
        {...props}
        name="resistanceCorrelation"
        label={say('charge.correlationOfTheseTwo')}
        help={say('charge.n1To1EmptyOfThe')}
        signed
        min={-1}
        max={1}
      />
      <Optional
        {...props}
        name="ocvUncertaintyMillivolt"
        label={say('charge.uncertaintyOfTheOcvMv')}
        help={say('charge.emptyOfTheFits')}
      />
      <Optional
        {...props}
        name="startSocUncertaintyPercent"
        label={say('charge.uncertaintyOfTheStartSoc')}
        help={say('charge.emptyNone')}
      />
      <Optional
        {...props}
        name="startTemperatureUncertaintyK"
        label={say('charge.uncertaintyOfTheStartTemperatureK')}
        help={say('charge.emptyNone')}
      />
      <Optional
        {...props}
        name="heatCapacityUncertaintyPercent"
        label={say('charge.uncertaintyOfTheHeatCapacity')}
        help={say('charge.emptyNone')}
      />
      <Optional
        {...props}
        name="heatTransferUncertaintyPercent"
        label={say('charge.uncertaintyOfTheHeatTransfer')}
        help={say('charge.emptyNone')}
      />
      <Always {...props} name="drawLevelPercent" label={say('charge.intervalThatHolds')} min={1} max={99.9} />
      <Always
        {...props}
        name="drawSeed"
        label={say('charge.seedOfTheDraws')}
        min={0}
        help={say('charge.theSameSeedTheSameDraws')}
      />
    </>
  );
}
