import { Button, MultiSelect, NativeSelect, TextInput } from '@mantine/core';
import type { LotColumns } from '../../../../server/contract/lots.ts';
import { warningSignCodes } from '../../../../server/contract/pairingCriteria.ts';
import { NumberField } from '../../parts/NumberField.tsx';
import { displayUnit } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { columnTitle } from '../../words/quantities.ts';
import { plainCode } from '../../words/reasons.ts';
import {
  type ChosenFeature,
  type CriteriaChoice,
  canMatch,
  featuresFor,
  missingFor,
  purposes,
  startingFeature,
} from './criteriaForm.ts';

interface CriteriaFieldsProps {
  readonly known: LotColumns;
  readonly choice: CriteriaChoice;
  readonly onChange: (choice: CriteriaChoice) => void;
}

/** By what, how closely and with what weight the two cells of a pair must agree. */
export function CriteriaFields({ known, choice, onChange }: CriteriaFieldsProps) {
  const usable = known.columns.filter(canMatch);
  const free = usable.filter((c) => !choice.features.some((f) => f.key === c.key));
  const setFeature = (index: number, feature: ChosenFeature | null) =>
    onChange({
      ...choice,
      features: choice.features.flatMap((f, i) => (i !== index ? [f] : feature === null ? [] : [feature])),
    });
  return (
    <>
      <fieldset className="purposes">
        <legend>Start from a purpose</legend>
        {purposes.map((p) => {
          const features = featuresFor(p.purpose, known);
          const missing = missingFor(p.purpose, known);
          return (
            <Button
              key={p.name}
              size="xs"
              variant="default"
              disabled={features.length === 0}
              title={
                features.length === 0
                  ? 'Nothing that serves this purpose is measured on these cells.'
                  : missing.length === 0
                    ? p.why
                    : `${p.why} Not measured: ${missing.join(', ')}.`
              }
              onClick={() => onChange({ ...choice, features, purpose: p.purpose })}
            >
              {p.name}
            </Button>
          );
        })}
      </fieldset>
      {choice.features.map((feature, i) => (
        <FeatureFields
          key={feature.key}
          feature={feature}
          known={known}
          onChange={(next) => setFeature(i, next)}
          onRemove={() => setFeature(i, null)}
        />
      ))}
      {free.length > 0 && (
        <NativeSelect
          size="xs"
          label="Add a feature"
          value=""
          data={[
            { value: '', label: 'choose…' },
            ...free.map((c) => ({
              value: c.key,
              label: `${columnTitle(c)} (${c.cellCount} ${c.cellCount === 1 ? 'cell' : 'cells'})`,
            })),
          ]}
          onChange={(e) => {
            const column = free.find((c) => c.key === e.currentTarget.value);
            if (column !== undefined) {
              onChange({ ...choice, features: [...choice.features, startingFeature(column)] });
            }
          }}
        />
      )}
      <RunFields choice={choice} onChange={onChange} />
      <p className="page-about">
        The cells are put together in twos. More than two in series are grouped by the command “gemel pair”,
        which shows the stacks but does not keep them.
      </p>
    </>
  );
}

interface FeatureFieldsProps {
  readonly feature: ChosenFeature;
  readonly known: LotColumns;
  readonly onChange: (feature: ChosenFeature) => void;
  readonly onRemove: () => void;
}

function FeatureFields({ feature, known, onChange, onRemove }: FeatureFieldsProps) {
  const [units] = useUnits();
  const column = known.columns.find((c) => c.key === feature.key);
  const title = column === undefined ? feature.key : columnTitle(column);
  const shown = displayUnit(column?.unit ?? '1', units);
  const by = feature.kind === 'percent' ? 1 : shown.factor;
  return (
    <fieldset className="feature">
      <legend>{title}</legend>
      <NumberField
        size="xs"
        label="Tolerance"
        min={0}
        value={Number((feature.tolerance * by).toPrecision(6))}
        onChange={(v) => v !== null && v > 0 && onChange({ ...feature, tolerance: v / by })}
      />
      <NativeSelect
        size="xs"
        label="in"
        value={feature.kind}
        data={[
          { value: 'percent', label: '% of median' },
          { value: 'absolute', label: shown.symbol === '' ? 'its unit' : shown.symbol },
        ]}
        onChange={(e) =>
          onChange({ ...feature, kind: e.currentTarget.value === 'absolute' ? 'absolute' : 'percent' })
        }
      />
      <NumberField
        size="xs"
        label="Importance"
        min={0}
        value={feature.importance}
        onChange={(v) => v !== null && onChange({ ...feature, importance: v })}
      />
      <NumberField
        size="xs"
        label="Never pair beyond (× tolerance)"
        description="Empty: no limit"
        min={0}
        value={feature.limitFactor ?? null}
        onChange={(v) => onChange({ ...feature, limitFactor: v !== null && v > 0 ? v : null })}
      />
      <Button size="compact-xs" variant="subtle" aria-label={`Leave out ${title}`} onClick={onRemove}>
        Leave out
      </Button>
    </fieldset>
  );
}

function RunFields({
  choice,
  onChange,
}: {
  choice: CriteriaChoice;
  onChange: (choice: CriteriaChoice) => void;
}) {
  return (
    <div className="form">
      <NativeSelect
        size="xs"
        label="As many pairs as possible, then"
        value={choice.objective}
        data={[
          { value: 'least-total', label: 'the least total cost' },
          { value: 'least-worst-then-total', label: 'the least cost of the worst pair' },
        ]}
        onChange={(e) =>
          onChange({
            ...choice,
            objective: e.currentTarget.value === 'least-total' ? 'least-total' : 'least-worst-then-total',
          })
        }
      />
      <NativeSelect
        size="xs"
        label="Missing value"
        value={choice.missingValues}
        data={[
          { value: 'leave-out', label: 'leave the cell out' },
          { value: 'refuse', label: 'stop' },
        ]}
        onChange={(e) =>
          onChange({ ...choice, missingValues: e.currentTarget.value === 'refuse' ? 'refuse' : 'leave-out' })
        }
      />
      <NumberField
        size="xs"
        label="Leave out outliers beyond (robust sd)"
        description="Empty: none left out"
        min={2}
        value={choice.outlierLimit ?? null}
        onChange={(v) => onChange({ ...choice, outlierLimit: v !== null ? v : null })}
      />
      <MultiSelect
        size="xs"
        label="Pair cells in spite of"
        description="Empty: a cell with a warning sign is left out"
        data={warningSignCodes.map((code) => ({ value: code, label: plainCode(code) }))}
        value={[...choice.signsIgnored]}
        onChange={(next) =>
          onChange({ ...choice, signsIgnored: warningSignCodes.filter((code) => next.includes(code)) })
        }
      />
      <NumberField
        size="xs"
        label="Planned charge current, A"
        description="For the consequences of each pair"
        min={0}
        value={choice.chargeCurrentA ?? null}
        onChange={(v) => onChange({ ...choice, chargeCurrentA: v !== null && v > 0 ? v : null })}
      />
      <TextInput
        size="xs"
        label="Keep together"
        description="For example A1 + A7, A2 + A9"
        value={choice.together}
        onChange={(e) => onChange({ ...choice, together: e.currentTarget.value })}
      />
      <TextInput
        size="xs"
        label="Keep apart"
        description="For example A1 + A7"
        value={choice.apart}
        onChange={(e) => onChange({ ...choice, apart: e.currentTarget.value })}
      />
      <TextInput
        size="xs"
        label="Leave out"
        description="For example A3, A5"
        value={choice.heldBack}
        onChange={(e) => onChange({ ...choice, heldBack: e.currentTarget.value })}
      />
    </div>
  );
}
