import { Checkbox } from '@mantine/core';
import { NumberField } from '../../parts/NumberField.tsx';
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
        <legend>Source and cable</legend>
        <Optional {...props} name="sourceMaxV" label="Highest voltage, V" help="Empty: no source described" />
        <Optional {...props} name="sourceMinV" label="Lowest voltage, V" help="Empty: 0" />
        <Optional {...props} name="sourceStepV" label="Step of its voltage, V" help="Empty: none" />
        <Optional {...props} name="sourceMaxA" label="Highest current, A" help="" />
        <Optional {...props} name="sourceMaxW" label="Highest power, W" help="Empty: no limit" />
        <Optional
          {...props}
          name="cableMilliohm"
          label="Cable resistance (both conductors), mΩ"
          help="Empty: none"
        />
        <Optional {...props} name="cableMaxA" label="Cable carries, A" help="Empty: no limit" />
      </fieldset>
      <ConverterFields {...props} />
      <fieldset className="inputs">
        <legend>Between charger and cells</legend>
        <Optional
          {...props}
          name="toSenseMilliohm"
          label="Up to the sense point, mΩ"
          help="Board, switch, connector"
        />
        <Optional
          {...props}
          name="beyondSenseMilliohm"
          label="From there to the cells, mΩ"
          help="Empty: sensed at the cells"
        />
      </fieldset>
      <FinerFields {...props} />
      <QuestionFields {...props} />
    </>
  );
}

const watches = { 'per-cell': 'each cell', 'stack-only': 'only the stack (a warning example)' } as const;

function CellFields({ cellNames, ...props }: StudyFieldsProps & { readonly cellNames: readonly string[] }) {
  const { inputs, onChange } = props;
  return (
    <fieldset className="inputs">
      <legend>Cells</legend>
      <p className="help">
        Capacity, open-circuit voltage and resistances come from the fits of each cell, its limits from the
        cell type.
      </p>
      <Always {...props} name="startSocPercent" label="SOC at the start, %" min={0} max={100} />
      <Always {...props} name="ambientTemperatureC" label="Surroundings, °C" signed />
      <Optional
        {...props}
        name="cellVoltageLimitV"
        label="Voltage limit of each cell, V"
        help="Empty: the datasheet’s"
      />
      <Optional
        {...props}
        name="maxTemperatureC"
        label="Highest temperature, °C"
        help="Empty: the datasheet’s"
        signed
      />
      <details className="finer">
        <summary>Start of each cell, heat balance, what is watched</summary>
        {cellNames.length > 1 &&
          cellNames.map((name, k) => (
            <NumberField
              key={name}
              size="xs"
              label={`SOC of ${name} at the start, %`}
              description="Empty: as above"
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
          label="Cells at the start, °C"
          help="Empty: as the surroundings"
          signed
        />
        <Optional
          {...props}
          name="heatCapacityJPerK"
          label="Heat capacity of a cell, J/K"
          help="Empty: of the cell type or a fit"
        />
        <Optional
          {...props}
          name="heatTransferWPerK"
          label="Heat transfer of a cell, W/K"
          help="Empty: of the cell type or a fit"
        />
        <Choice
          label="Watched is the voltage of"
          value={inputs.watch}
          choices={watches}
          onChoose={(watch) => onChange({ ...inputs, watch })}
        />
        {inputs.watch === 'stack-only' && (
          <Optional
            {...props}
            name="stackVoltageLimitV"
            label="Limit of the stack voltage, V"
            help="Empty: the sum of the cells’"
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
      <legend>Balancing by bypass</legend>
      <p className="help">The same at every cell.</p>
      <Optional {...props} name="bypassCurrentA" label="Bypass of each cell, A" help="Empty: none" />
      <Optional {...props} name="bypassOhm" label="or by a resistor, Ω" help="Empty: none" />
      <Optional
        {...props}
        name="bypassStartV"
        label="from the cell voltage, V"
        help="Works at and above it"
      />
      <Optional {...props} name="bypassStopV" label="down to, V" help="Empty: 20 mV lower" />
      <Checkbox
        size="xs"
        label="Works on in the rest after the end"
        checked={inputs.bypassAtRest}
        onChange={(e) => onChange({ ...inputs, bypassAtRest: e.currentTarget.checked })}
      />
    </fieldset>
  );
}
