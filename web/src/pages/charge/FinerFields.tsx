import { Button, Checkbox, NativeSelect } from '@mantine/core';
import { useState } from 'react';
import { NumberField } from '../../parts/NumberField.tsx';
import type { StudyFieldsProps } from './studyFieldsProps.ts';
import type { EfficiencyPoint, StudyInputs, ZoneInput } from './studyInputs.ts';

type Given = {
  [K in keyof StudyInputs]: number | null extends StudyInputs[K] ? K : never;
}[keyof StudyInputs];
type Plain = { [K in keyof StudyInputs]: number extends StudyInputs[K] ? K : never }[keyof StudyInputs];

const finer = [
  'zones',
  'prechargeBelowV',
  'steppedTaper',
  'sourceStepA',
  'regulatorMaxA',
  'efficiencyTable',
] as const;

/** What many studies do without, folded away until it is wanted or already set. */
export function FinerFields(props: StudyFieldsProps) {
  const set = finer.some((name) => {
    const value = props.inputs[name];
    return Array.isArray(value) ? value.length > 0 : value !== null && value !== false;
  });
  const [open, setOpen] = useState(set);
  return (
    <details className="finer" open={open} onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>Temperature zones, precharge, stepped taper, regulator</summary>
      <Zones {...props} />
      <Begin {...props} />
      <Regulator {...props} />
      <Efficiency {...props} />
    </details>
  );
}

function Zones({ inputs, onChange }: StudyFieldsProps) {
  const { zones } = inputs;
  const keep = (next: readonly ZoneInput[]) => onChange({ ...inputs, zones: next });
  const change = (index: number, part: Partial<ZoneInput>) =>
    keep(zones.map((z, i) => (i === index ? { ...z, ...part } : z)));
  return (
    <fieldset className="inputs">
      <legend>Temperature zones</legend>
      <p className="help">Each with its own limits. Outside every zone the charge pauses.</p>
      {zones.map((zone, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a zone has no identity but its place
        <div key={i} className="stage">
          <NumberField
            size="xs"
            label={`Zone ${i + 1} from, °C`}
            signed
            value={zone.fromC}
            onChange={(v) => v !== null && change(i, { fromC: v })}
          />
          <NumberField
            size="xs"
            label="to, °C"
            signed
            value={zone.toC}
            onChange={(v) => v !== null && change(i, { toC: v })}
          />
          <NumberField
            size="xs"
            label="at most, C"
            description="Empty: no limit"
            min={0}
            value={zone.maxRateC}
            onChange={(v) => change(i, { maxRateC: v })}
          />
          <NumberField
            size="xs"
            label="cell at most, V"
            description="Empty: no limit"
            min={0}
            value={zone.maxCellVoltageV}
            onChange={(v) => change(i, { maxCellVoltageV: v })}
          />
        </div>
      ))}
      <RowButtons
        what="zone"
        count={zones.length}
        most={12}
        onMore={() => keep([...zones, nextZone(zones)])}
        onFewer={() => keep(zones.slice(0, -1))}
      />
      {zones.length > 0 && (
        <NumberField
          size="xs"
          label="Left when beyond its edge by, K"
          min={0}
          value={inputs.zoneHysteresisK}
          onChange={(v) => v !== null && onChange({ ...inputs, zoneHysteresisK: v })}
        />
      )}
    </fieldset>
  );
}

/** The zone above the last one, as wide as charging at room temperature usually is. */
function nextZone(zones: readonly ZoneInput[]): ZoneInput {
  const fromC = zones.length === 0 ? 10 : zones[zones.length - 1].toC;
  return { fromC, toC: zones.length === 0 ? 45 : fromC + 10, maxRateC: null, maxCellVoltageV: null };
}

function Begin({ inputs, onChange }: StudyFieldsProps) {
  return (
    <fieldset className="inputs">
      <legend>Precharge and taper</legend>
      <Optional
        {...{ inputs, onChange }}
        name="prechargeBelowV"
        label="Precharge below, V per cell"
        help="Empty: none"
      />
      <Always {...{ inputs, onChange }} name="prechargeRateC" label="Precharge rate, C" min={0.001} />
      <Checkbox
        size="xs"
        label="Taper in steps of the source’s current"
        checked={inputs.steppedTaper}
        onChange={(e) => onChange({ ...inputs, steppedTaper: e.currentTarget.checked })}
      />
      <Optional
        {...{ inputs, onChange }}
        name="sourceStepA"
        label="Current step of the source, A"
        help="A stepped taper needs it"
      />
    </fieldset>
  );
}

function Regulator(props: StudyFieldsProps) {
  return (
    <fieldset className="inputs">
      <legend>Switching regulator</legend>
      <p className="help">
        For precharge and the end of the charge; the fixed ratio does the fast part. Needs a source.
      </p>
      <Optional {...props} name="regulatorMaxA" label="Gives at most, A" help="Empty: no regulator" />
      <NativeSelect
        size="xs"
        label="Its input lies"
        value={props.inputs.regulatorKind}
        data={[
          { value: 'step-down', label: 'above the stack' },
          { value: 'step-up', label: 'below the stack' },
          { value: 'step-up-down', label: 'above or below' },
        ]}
        onChange={(e) => {
          const kind = e.currentTarget.value;
          props.onChange({
            ...props.inputs,
            regulatorKind: kind === 'step-up' || kind === 'step-up-down' ? kind : 'step-down',
          });
        }}
      />
      <Always {...props} name="regulatorInputV" label="Asks the source for, V" min={0.1} />
      <Always {...props} name="regulatorHeadroomV" label="Input and stack apart by, V" min={0} />
      <Always {...props} name="regulatorEfficiencyPercent" label="Its efficiency, %" min={1} max={100} />
      <Optional {...props} name="regulatorBelowStackV" label="Works below, V of the stack" help="Empty: 0" />
      <Optional {...props} name="regulatorBelowOutputA" label="and below, A into the stack" help="Empty: 0" />
    </fieldset>
  );
}

function Efficiency({ inputs, onChange }: StudyFieldsProps) {
  const points = inputs.efficiencyTable;
  const keep = (next: readonly EfficiencyPoint[]) => onChange({ ...inputs, efficiencyTable: next });
  const change = (index: number, part: Partial<EfficiencyPoint>) =>
    keep(points.map((p, i) => (i === index ? { ...p, ...part } : p)));
  return (
    <fieldset className="inputs">
      <legend>Efficiency of the fixed ratio over its output</legend>
      <p className="help">Two points or more replace the one efficiency above.</p>
      {inputs.paths > 1 && (
        <NativeSelect
          size="xs"
          label="The outputs are those of"
          value={inputs.efficiencyTableOf}
          data={[
            { value: 'all-paths', label: 'all paths together' },
            { value: 'one-path', label: 'one path' },
          ]}
          onChange={(e) =>
            onChange({
              ...inputs,
              efficiencyTableOf: e.currentTarget.value === 'one-path' ? 'one-path' : 'all-paths',
            })
          }
        />
      )}
      {points.map((point, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a point has no identity but its place
        <div key={i} className="stage">
          <NumberField
            size="xs"
            label={`Point ${i + 1}: output, A`}
            min={0}
            value={point.outputA}
            onChange={(v) => v !== null && change(i, { outputA: v })}
          />
          <NumberField
            size="xs"
            label="Efficiency, %"
            min={1}
            max={100}
            value={point.percent}
            onChange={(v) => v !== null && change(i, { percent: v })}
          />
        </div>
      ))}
      <RowButtons
        what="point"
        count={points.length}
        most={12}
        onMore={() =>
          keep([
            ...points,
            {
              outputA: points.length === 0 ? 0 : points[points.length - 1].outputA + 1,
              percent: inputs.efficiencyPercent,
            },
          ])
        }
        onFewer={() => keep(points.slice(0, -1))}
      />
    </fieldset>
  );
}

interface RowButtonsProps {
  readonly what: string;
  readonly count: number;
  readonly most: number;
  readonly onMore: () => void;
  readonly onFewer: () => void;
}

function RowButtons({ what, count, most, onMore, onFewer }: RowButtonsProps) {
  return (
    <div className="actions">
      <Button size="compact-xs" variant="default" disabled={count >= most} onClick={onMore}>
        {count === 0 ? `Add a ${what}` : `Another ${what}`}
      </Button>
      {count > 0 && (
        <Button size="compact-xs" variant="default" onClick={onFewer}>
          One {what} fewer
        </Button>
      )}
    </div>
  );
}

interface FieldProps<Name> extends StudyFieldsProps {
  readonly name: Name;
  readonly label: string;
}

/** A number that may be left out. */
function Optional({ inputs, onChange, name, label, help }: FieldProps<Given> & { readonly help: string }) {
  return (
    <NumberField
      size="xs"
      label={label}
      description={help}
      min={0}
      value={inputs[name]}
      onChange={(v) => onChange({ ...inputs, [name]: v })}
    />
  );
}

/** A number that is always there. */
function Always({
  inputs,
  onChange,
  name,
  label,
  ...range
}: FieldProps<Plain> & { readonly min?: number; readonly max?: number }) {
  return (
    <NumberField
      size="xs"
      label={label}
      value={typeof inputs[name] === 'number' ? inputs[name] : null}
      onChange={(v) => v !== null && onChange({ ...inputs, [name]: v })}
      {...range}
    />
  );
}
