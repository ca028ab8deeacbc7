import { NumberField } from '../../parts/NumberField.tsx';
import { Always, Choice, Optional, ofPaths, Rows } from './fieldKinds.tsx';
import type { StudyFieldsProps } from './studyFieldsProps.ts';
import type { EfficiencyPoint, OperatingPointInput, PathInput } from './studyInputs.ts';

const ratios = { 0: 'none', 1: 'direct', 2: 'divide by two', 4: 'divide by four' } as const;

/** The fixed ratio: paths, and their losses in one of five ways. */
export function ConverterFields(props: StudyFieldsProps) {
  const { inputs, onChange } = props;
  const { pathMilliohm, pathFixedLossMilliamp, operatingPoints, efficiencyTable, unlikePaths } = inputs;
  const alike = unlikePaths.length === 0;
  const byEfficiency =
    pathMilliohm === null &&
    pathFixedLossMilliamp === null &&
    operatingPoints.length === 0 &&
    efficiencyTable.length < 2;
  return (
    <fieldset className="inputs">
      <legend>Converter</legend>
      <Choice
        label="Input to stack"
        value={`${inputs.ratio}`}
        choices={ratios}
        onChoose={(chosen) => {
          const ratio = Number(chosen);
          onChange({ ...inputs, ratio: ratio === 1 || ratio === 2 || ratio === 4 ? ratio : 0 });
        }}
      />
      {alike && <Always {...props} name="paths" label="Parallel converters" min={1} max={4} />}
      {alike && <Always {...props} name="pathMaxA" label="Each path gives, A" min={0} />}
      {alike && (
        <Optional
          {...props}
          name="pathMilliohm"
          label="Output resistance of a path, mΩ"
          help="Empty: from the efficiency"
        />
      )}
      {alike && (
        <Optional
          {...props}
          name="pathFixedLossMilliamp"
          label="Fixed loss of a path, mA"
          help="Input current at no load"
        />
      )}
      {alike && byEfficiency && (
        <Always
          {...props}
          name="efficiencyPercent"
          label="Efficiency, %"
          min={1}
          max={100}
          help="Where no resistance and fixed loss are given"
        />
      )}
      <details className="finer" open={!alike || operatingPoints.length > 0 || efficiencyTable.length > 0}>
        <summary>Unlike paths, measured operating points, efficiency over the output</summary>
        <UnlikePaths {...props} />
        <OperatingPoints {...props} />
        <EfficiencyOverOutput {...props} />
      </details>
    </fieldset>
  );
}

function UnlikePaths({ inputs, onChange }: StudyFieldsProps) {
  return (
    <fieldset className="inputs">
      <legend>Unlike paths</legend>
      <p className="help">
        Each with its own limit and losses; they share the current by their resistances. A list replaces the
        equal paths above.
      </p>
      <Rows<PathInput>
        what="path"
        most={4}
        rows={inputs.unlikePaths}
        next={(rows) =>
          rows[rows.length - 1] ?? { maxA: inputs.pathMaxA, milliohm: 20, fixedLossMilliamp: 0 }
        }
        onChange={(unlikePaths) => onChange({ ...inputs, unlikePaths })}
      >
        {(path, change, i) => (
          <>
            <NumberField
              size="xs"
              label={`Path ${i + 1} gives, A`}
              min={0.001}
              value={path.maxA}
              onChange={(v) => v !== null && change({ maxA: v })}
            />
            <NumberField
              size="xs"
              label={`Resistance of path ${i + 1}, mΩ`}
              min={0}
              value={path.milliohm}
              onChange={(v) => v !== null && change({ milliohm: v })}
            />
            <NumberField
              size="xs"
              label={`Fixed loss of path ${i + 1}, mA`}
              min={0}
              value={path.fixedLossMilliamp}
              onChange={(v) => v !== null && change({ fixedLossMilliamp: v })}
            />
          </>
        )}
      </Rows>
    </fieldset>
  );
}

const emptyPoint: OperatingPointInput = {
  outputV: null,
  outputA: null,
  inputV: null,
  inputA: null,
  efficiencyPercent: null,
};

const pointFields = [
  ['outputV', 'output, V', ''],
  ['outputA', 'output, A', ''],
  ['inputV', 'input, V', ''],
  ['inputA', 'input, A', ''],
  ['efficiencyPercent', 'or efficiency, %', 'In place of the input'],
] as const;

function OperatingPoints({ inputs, onChange }: StudyFieldsProps) {
  return (
    <fieldset className="inputs">
      <legend>Measured operating points</legend>
      <p className="help">Two points far apart tell the resistance and the fixed loss of equal paths.</p>
      {inputs.paths > 1 && (
        <Choice
          label="The points are those of"
          value={inputs.operatingPointsOf}
          choices={ofPaths}
          onChoose={(operatingPointsOf) => onChange({ ...inputs, operatingPointsOf })}
        />
      )}
      <Rows<OperatingPointInput>
        what="operating point"
        most={12}
        rows={inputs.operatingPoints}
        next={() => emptyPoint}
        onChange={(operatingPoints) => onChange({ ...inputs, operatingPoints })}
      >
        {(point, change, i) =>
          pointFields.map(([name, label, help]) => (
            <NumberField
              key={name}
              size="xs"
              label={`Operating point ${i + 1}: ${label}`}
              description={help}
              min={0}
              value={point[name]}
              onChange={(v) => change({ [name]: v })}
            />
          ))
        }
      </Rows>
    </fieldset>
  );
}

function EfficiencyOverOutput({ inputs, onChange }: StudyFieldsProps) {
  return (
    <fieldset className="inputs">
      <legend>Efficiency of the fixed ratio over its output</legend>
      <p className="help">Two points or more replace the one efficiency above.</p>
      {inputs.paths > 1 && (
        <Choice
          label="The outputs are those of"
          value={inputs.efficiencyTableOf}
          choices={ofPaths}
          onChoose={(efficiencyTableOf) => onChange({ ...inputs, efficiencyTableOf })}
        />
      )}
      <EfficiencyPoints
        of=""
        points={inputs.efficiencyTable}
        usualPercent={inputs.efficiencyPercent}
        onChange={(efficiencyTable) => onChange({ ...inputs, efficiencyTable })}
      />
    </fieldset>
  );
}

interface EfficiencyPointsProps {
  /** What tells the labels from those of another table. */
  readonly of: string;
  readonly points: readonly EfficiencyPoint[];
  readonly usualPercent: number;
  readonly onChange: (points: readonly EfficiencyPoint[]) => void;
}

export function EfficiencyPoints({ of, points, usualPercent, onChange }: EfficiencyPointsProps) {
  return (
    <Rows<EfficiencyPoint>
      what="point"
      most={12}
      rows={points}
      next={(rows) => ({
        outputA: rows.length === 0 ? 0 : rows[rows.length - 1].outputA + 1,
        percent: usualPercent,
      })}
      onChange={onChange}
    >
      {(point, change, i) => (
        <>
          <NumberField
            size="xs"
            label={`${of}Point ${i + 1}: output, A`}
            min={0}
            value={point.outputA}
            onChange={(v) => v !== null && change({ outputA: v })}
          />
          <NumberField
            size="xs"
            label={`${of}Point ${i + 1}: efficiency, %`}
            min={1}
            max={100}
            value={point.percent}
            onChange={(v) => v !== null && change({ percent: v })}
          />
        </>
      )}
    </Rows>
  );
}
