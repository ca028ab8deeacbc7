import { Button, Checkbox, NativeSelect } from '@mantine/core';
import { NumberField } from '../../parts/NumberField.tsx';
import { FinerFields } from './FinerFields.tsx';
import type { StudyFieldsProps } from './studyFieldsProps.ts';
import type { StudyInputs } from './studyInputs.ts';

type Nullable = {
  [K in keyof StudyInputs]: null extends StudyInputs[K] ? K : never;
}[keyof StudyInputs];
type Plain = {
  [K in keyof StudyInputs]: StudyInputs[K] extends number ? K : never;
}[keyof StudyInputs];

/** The inputs of a charge study in the order of the way from the cells to the wall. */
export function StudyFields({ inputs, onChange }: StudyFieldsProps) {
  const plain = (
    name: Plain,
    label: string,
    more: { min?: number; max?: number; step?: number; signed?: boolean; description?: string } = {},
  ) => (
    <NumberField
      size="xs"
      label={label}
      value={inputs[name]}
      onChange={(v) => v !== null && onChange({ ...inputs, [name]: v })}
      {...more}
    />
  );
  const optional = (name: Nullable, label: string, description: string) => (
    <NumberField
      size="xs"
      label={label}
      description={description}
      min={0}
      value={inputs[name] ?? null}
      onChange={(v) => onChange({ ...inputs, [name]: v !== null ? v : null })}
    />
  );
  const question = (name: 'rateSearch' | 'stagedProfile' | 'stackOnly' | 'rateTable', label: string) => (
    <Checkbox
      size="xs"
      label={label}
      checked={inputs[name]}
      onChange={(e) => onChange({ ...inputs, [name]: e.currentTarget.checked })}
    />
  );
  return (
    <>
      <fieldset className="inputs">
        <legend>Cells</legend>
        {plain('startSocPercent', 'SOC at the start, %', { min: 0, max: 100 })}
        {plain('ambientTemperatureC', 'Surroundings, °C', { signed: true })}
        {optional('cellVoltageLimitV', 'Voltage limit of each cell, V', 'Empty: the datasheet’s')}
        {optional('maxTemperatureC', 'Highest temperature, °C', 'Empty: the datasheet’s')}
      </fieldset>
      <Stages inputs={inputs} onChange={onChange} />
      <fieldset className="inputs">
        <legend>Balancing by bypass</legend>
        {optional('bypassCurrentA', 'Bypass of each cell, A', 'Empty: none')}
        {optional('bypassStartV', 'from the cell voltage, V', 'Stops 20 mV lower')}
      </fieldset>
      <fieldset className="inputs">
        <legend>Source and cable</legend>
        {optional('sourceMaxV', 'Highest voltage, V', 'Empty: no source described')}
        {optional('sourceMinV', 'Lowest voltage, V', 'Empty: 0')}
        {optional('sourceStepV', 'Step of its voltage, V', 'Empty: none')}
        {optional('sourceMaxA', 'Highest current, A', '')}
        {optional('sourceMaxW', 'Highest power, W', 'Empty: no limit')}
        {optional('cableMilliohm', 'Cable, mΩ', 'There and back')}
        {optional('cableMaxA', 'Cable carries, A', 'Empty: no limit')}
      </fieldset>
      <fieldset className="inputs">
        <legend>Converter</legend>
        <NativeSelect
          size="xs"
          label="Input to stack"
          value={String(inputs.ratio)}
          data={[
            { value: '0', label: 'none' },
            { value: '1', label: 'direct' },
            { value: '2', label: 'divide by two' },
            { value: '4', label: 'divide by four' },
          ]}
          onChange={(e) => {
            const ratio = Number(e.currentTarget.value);
            onChange({ ...inputs, ratio: ratio === 1 || ratio === 2 || ratio === 4 ? ratio : 0 });
          }}
        />
        {plain('paths', 'Parallel converters', { min: 1, max: 4 })}
        {plain('pathMaxA', 'Each path gives, A', { min: 0 })}
        {optional('pathMilliohm', 'Output resistance of a path, mΩ', 'Empty: from the efficiency')}
        {optional('pathFixedLossMilliamp', 'Fixed loss of a path, mA', 'Input current at no load')}
        {plain('efficiencyPercent', 'Efficiency, %', {
          min: 1,
          max: 100,
          description: 'Where no resistance and fixed loss are given',
        })}
      </fieldset>
      <fieldset className="inputs">
        <legend>Between charger and cells</legend>
        {optional('toSenseMilliohm', 'Up to the sense point, mΩ', 'Board, switch, connector')}
        {optional('beyondSenseMilliohm', 'From there to the cells, mΩ', 'Empty: sensed at the cells')}
      </fieldset>
      <FinerFields inputs={inputs} onChange={onChange} />
      <fieldset className="inputs">
        <legend>Questions</legend>
        {plain('targetSocPercent', 'Time until SOC, %', { min: 1, max: 100 })}
        {plain('draws', 'Random draws for the uncertainty', {
          min: 0,
          max: 20000,
          step: 100,
          description: '0: none',
        })}
        {inputs.draws > 0 && (
          <>
            {optional('capacityUncertaintyPercent', 'Uncertainty of the capacity, %', 'Empty: of the fits')}
            {optional('r0UncertaintyPercent', 'Uncertainty of R0, %', 'Empty: of the fits')}
            {optional('branchUncertaintyPercent', 'Uncertainty of the branches, %', 'Empty: of the fits')}
            {optional('ocvUncertaintyMillivolt', 'Uncertainty of the OCV, mV', 'Empty: of the fits')}
            {optional('startSocUncertaintyPercent', 'Uncertainty of the start SOC, %', 'Empty: none')}
          </>
        )}
        {question('rateSearch', 'Highest rate that keeps every limit')}
        {question('stagedProfile', 'A staged profile')}
        {question('rateTable', 'Rates over temperature and resistance growth')}
        {question('stackOnly', 'What if only the stack voltage were watched')}
      </fieldset>
    </>
  );
}

function Stages({ inputs, onChange }: StudyFieldsProps) {
  const { stages } = inputs;
  const set = (index: number, stage: StudyInputs['stages'][number]) =>
    onChange({ ...inputs, stages: stages.map((s, i) => (i === index ? stage : s)) });
  return (
    <fieldset className="inputs">
      <legend>Current</legend>
      {stages.map((stage, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a stage has no identity but its place
        <div key={i} className="stage">
          <NumberField
            size="xs"
            label={stages.length === 1 ? 'Rate, C' : `Stage ${i + 1}, C`}
            min={0.01}
            value={stage.rateC}
            onChange={(v) => v !== null && v > 0 && set(i, { ...stage, rateC: v })}
          />
          {i < stages.length - 1 && (
            <NumberField
              size="xs"
              label="until SOC, %"
              min={1}
              max={99}
              value={stage.untilSocPercent ?? null}
              onChange={(v) => set(i, { ...stage, untilSocPercent: v !== null ? v : null })}
            />
          )}
        </div>
      ))}
      <div className="actions">
        <Button
          size="compact-xs"
          variant="default"
          disabled={stages.length >= 8}
          onClick={() => onChange({ ...inputs, stages: withStage(stages) })}
        >
          Another stage
        </Button>
        {stages.length > 1 && (
          <Button
            size="compact-xs"
            variant="default"
            onClick={() =>
              onChange({
                ...inputs,
                stages: stages
                  .slice(0, -1)
                  .map((s, i) => (i === stages.length - 2 ? { ...s, untilSocPercent: null } : s)),
              })
            }
          >
            One stage fewer
          </Button>
        )}
      </div>
      <NumberField
        size="xs"
        label="Ends when the current is down to, C"
        min={0.005}
        value={inputs.endRateC}
        onChange={(v) => v !== null && v > 0 && onChange({ ...inputs, endRateC: v })}
      />
    </fieldset>
  );
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
