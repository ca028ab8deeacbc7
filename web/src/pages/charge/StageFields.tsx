import { Button } from '@mantine/core';
import { NumberField } from '../../parts/NumberField.tsx';
import { say } from '../../words/i18n.ts';
import { Always } from './fieldKinds.tsx';
import type { StudyFieldsProps } from './studyFieldsProps.ts';
import type { StageInput, StudyInputs } from './studyInputs.ts';

const MOST_STAGES = 20;

const ends = [
  ['untilSocPercent', say('charge.untilSoc'), { min: 1, max: 99 }],
  ['untilCellV', say('charge.orUntilACellHasV'), { min: 0 }],
  ['untilC', say('charge.orUntilACellHasC'), { signed: true }],
  ['untilMinutes', say('charge.orAfterMin'), { min: 0 }],
] as const;

/** The constant currents in turn, and where the charge ends. */
export function StageFields(props: StudyFieldsProps) {
  const { inputs, onChange } = props;
  const { stages } = inputs;
  const set = (index: number, stage: StageInput) =>
    onChange({ ...inputs, stages: stages.map((s, i) => (i === index ? stage : s)) });
  return (
    <fieldset className="inputs">
      <legend>{say('charge.current')}</legend>
      {stages.map((stage, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a stage has no identity but its place
        <div key={i} className="stage">
          <NumberField
            size="xs"
            label={stages.length === 1 ? say('charge.rateC') : say('charge.stageIC', { i: i + 1 })}
            min={0.01}
            value={stage.rateC}
            onChange={(v) => v !== null && v > 0 && set(i, { ...stage, rateC: v })}
          />
          {i < stages.length - 1 &&
            ends.map(([name, label, range]) => (
              <NumberField
                key={name}
                size="xs"
                label={label}
                {...range}
                value={stage[name] ?? null}
                onChange={(v) => set(i, { ...stage, [name]: v })}
              />
            ))}
        </div>
      ))}
      <div className="actions">
        <Button
          size="compact-xs"
          variant="default"
          disabled={stages.length >= MOST_STAGES}
          onClick={() => onChange({ ...inputs, stages: withStage(stages) })}
        >
          {say('charge.anotherStage')}
        </Button>
        {stages.length > 1 && (
          <Button
            size="compact-xs"
            variant="default"
            onClick={() => onChange({ ...inputs, stages: withoutLast(stages) })}
          >
            {say('charge.oneStageFewer')}
          </Button>
        )}
      </div>
      <Always {...props} name="endRateC" label={say('charge.endsWhenTheCurrentIsDown')} min={0.005} />
    </fieldset>
  );
}

/** The last stage has no end of its own: it runs until the voltage limit. */
function withoutLast(stages: StudyInputs['stages']): StudyInputs['stages'] {
  return stages
    .slice(0, -1)
    .map((stage, i) => (i === stages.length - 2 ? { rateC: stage.rateC, untilSocPercent: null } : stage));
}

/** One more stage: slower than the last, which now ends half-way to full. */
function withStage(stages: StudyInputs['stages']): StudyInputs['stages'] {
  const last = stages[stages.length - 1];
  const before = stages.length > 1 ? (stages[stages.length - 2].untilSocPercent ?? 0) : 0;
  const until = Math.round((before + 100) / 2);
  return [
    ...stages.slice(0, -1),
    { ...last, untilSocPercent: until },
    { rateC: Number((last.rateC / 2).toPrecision(2)), untilSocPercent: null },
  ];
}
