import { NumberField } from '../../parts/NumberField.tsx';
import { say } from '../../words/i18n.ts';
import { Always, Choice, Optional, ofPaths, Rows } from './fieldKinds.tsx';
import type { StudyFieldsProps } from './studyFieldsProps.ts';
import type { EfficiencyPoint, OperatingPointInput, PathInput } from './studyInputs.ts';

const ratios = {
  0: 'none',
  1: 'direct',
  2: say('charge.divideByTwo'),
  4: say('charge.divideByFour'),
} as const;

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
      <legend>{say('charge.converter')}</legend>
      <Choice
        label={say('charge.inputToStack')}
        value={`${inputs.ratio}`}
        choices={ratios}
        onChoose={(chosen) => {
          const ratio = Number(chosen);
          onChange({ ...inputs, ratio: ratio === 1 || ratio === 2 || ratio === 4 ? ratio : 0 });
        }}
      />
      {alike && <Always {...props} name="paths" label={say('charge.parallelConverters')} min={1} max={4} />}
      {alike && <Always {...props} name="pathMaxA" label={say('charge.eachPathGivesA')} min={0} />}
      {alike && (
        <Optional
          {...props}
          name="pathMilliohm"
          label={say('charge.outputResistanceOfAPathM')}
          help={say('charge.emptyFromTheEfficiency')}
        />
      )}
      {alike && (
        <Optional
          {...props}
          name="pathFixedLossMilliamp"
          label={say('charge.fixedLossOfAPathMa')}
          help={say('charge.inputCurrentAtNoLoad')}
        />
      )}
      {alike && byEfficiency && (
        <Always
          {...props}
          name="efficiencyPercent"
          label={say('charge.efficiency2')}
          min={1}
          max={100}
          help={say('charge.whereNoResistanceAndFixedLoss')}
        />
      )}
      <details className="finer" open={!alike || operatingPoints.length > 0 || efficiencyTable.length > 0}>
        <summary>{say('charge.unlikePathsMeasuredOperatingPointsEfficiency')}</summary>
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
      <legend>{say('charge.unlikePaths')}</legend>
      <p className="help">{say('charge.eachWithItsOwnLimitAnd')}</p>
      <Rows<PathInput>
        what={say('charge.path')}
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
              label={say('charge.pathIGivesA', { i: i + 1 })}
              min={0.001}
              value={path.maxA}
              onChange={(v) => v !== null && change({ maxA: v })}
            />
            <NumberField
              size="xs"
              label={say('charge.resistanceOfPathIM', { i: i + 1 })}
              min={0}
              value={path.milliohm}
              onChange={(v) => v !== null && change({ milliohm: v })}
            />
            <NumberField
              size="xs"
              label={say('charge.fixedLossOfPathIMa', { i: i + 1 })}
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
  ['outputV', say('charge.outputV'), ''],
  ['outputA', say('charge.outputA'), ''],
  ['inputV', say('charge.inputV'), ''],
  ['inputA', say('charge.inputA'), ''],
  ['efficiencyPercent', say('charge.orEfficiency'), say('charge.inPlaceOfTheInput')],
] as const;

function OperatingPoints({ inputs, onChange }: StudyFieldsProps) {
  return (
    <fieldset className="inputs">
      <legend>{say('charge.measuredOperatingPoints')}</legend>
      <p className="help">{say('charge.twoPointsFarApartTellThe')}</p>
      {inputs.paths > 1 && (
        <Choice
          label={say('charge.thePointsAreThoseOf')}
          value={inputs.operatingPointsOf}
          choices={ofPaths}
          onChoose={(operatingPointsOf) => onChange({ ...inputs, operatingPointsOf })}
        />
      )}
      <Rows<OperatingPointInput>
        what={say('charge.operatingPoint')}
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
              label={say('charge.operatingPointILabel', { i: i + 1, label })}
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
      <legend>{say('charge.efficiencyOfTheFixedRatioOver')}</legend>
      <p className="help">{say('charge.twoPointsOrMoreReplaceThe')}</p>
      {inputs.paths > 1 && (
        <Choice
          label={say('charge.theOutputsAreThoseOf')}
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
      what={say('charge.point')}
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
            label={say('charge.ofPointIOutputA', { of, i: i + 1 })}
            min={0}
            value={point.outputA}
            onChange={(v) => v !== null && change({ outputA: v })}
          />
          <NumberField
            size="xs"
            label={say('charge.ofPointIEfficiency', { of, i: i + 1 })}
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
