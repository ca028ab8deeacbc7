import { Button, MultiSelect, NativeSelect, TextInput } from '@mantine/core';
import type { LotColumns } from '../../../../server/contract/lots.ts';
import { warningSignCodes } from '../../../../server/contract/pairingCriteria.ts';
import { NumberField } from '../../parts/NumberField.tsx';
import { displayUnit } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { columnTitle, quantityTitle } from '../../words/quantities.ts';
import { plainCode } from '../../words/reasons.ts';
import {
  type ChosenFeature,
  type CriteriaChoice,
  canMatch,
  choicesInSeries,
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

/** How many cells go in series, and by what, how closely and with what weight they must agree. */
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
        <legend>{say('pairings.startFromAPurpose')}</legend>
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
                  ? say('pairings.nothingThatServesThisPurposeIs')
                  : missing.length === 0
                    ? p.why
                    : say('pairings.whyNotMeasuredMissing', { why: p.why, missing: missing.join(', ') })
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
          label={say('pairings.addAFeature')}
          value=""
          data={[
            { value: '', label: say('pairings.choose') },
            ...[...new Set(free.map(quantityOf))].map((group) => ({
              group,
              items: free.filter((c) => quantityOf(c) === group).map(offered),
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
        label={say('pairings.tolerance')}
        min={0}
        value={Number((feature.tolerance * by).toPrecision(6))}
        onChange={(v) => v !== null && v > 0 && onChange({ ...feature, tolerance: v / by })}
      />
      <NativeSelect
        size="xs"
        label={say('pairings.in')}
        value={feature.kind}
        data={[
          { value: 'percent', label: say('pairings.ofMedian') },
          { value: 'absolute', label: shown.symbol === '' ? say('pairings.itsUnit') : shown.symbol },
        ]}
        onChange={(e) =>
          onChange({ ...feature, kind: e.currentTarget.value === 'absolute' ? 'absolute' : 'percent' })
        }
      />
      <NumberField
        size="xs"
        label={say('pairings.importance')}
        min={0}
        value={feature.importance}
        onChange={(v) => v !== null && onChange({ ...feature, importance: v })}
      />
      <NumberField
        size="xs"
        label={say('pairings.neverPairBeyondTolerance')}
        description={say('pairings.emptyNoLimit')}
        min={0}
        value={feature.limitFactor ?? null}
        onChange={(v) => onChange({ ...feature, limitFactor: v !== null && v > 0 ? v : null })}
      />
      <Button
        size="compact-xs"
        variant="subtle"
        aria-label={say('pairings.leaveOutTitle', { title })}
        onClick={onRemove}
      >
        {say('pairings.leaveOut')}
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
        label={say('groups.cellsInSeries')}
        description={say('groups.moreThanTwoAreFound')}
        value={String(choice.cellsPerStack)}
        data={choicesInSeries.map((n) => ({
          value: String(n),
          label: n === 2 ? say('groups.pairsOfTwo') : String(n),
        }))}
        onChange={(e) => {
          const cellsPerStack = Number(e.currentTarget.value);
          onChange({
            ...choice,
            cellsPerStack,
            objective: cellsPerStack > 2 ? 'least-total' : choice.objective,
          });
        }}
      />
      <NativeSelect
        size="xs"
        label={say('pairings.asManyPairsAsPossibleThen')}
        value={choice.objective}
        data={[
          { value: 'least-total', label: say('pairings.theLeastTotalCost') },
          {
            value: 'least-worst-then-total',
            label: say('pairings.theLeastCostOfTheWorst'),
            disabled: choice.cellsPerStack > 2,
          },
        ]}
        description={choice.cellsPerStack > 2 ? say('groups.forTheLeastTotalOnly') : undefined}
        error={
          choice.cellsPerStack > 2 && choice.objective !== 'least-total'
            ? say('groups.forTheLeastTotalOnly')
            : undefined
        }
        onChange={(e) =>
          onChange({
            ...choice,
            objective: e.currentTarget.value === 'least-total' ? 'least-total' : 'least-worst-then-total',
          })
        }
      />
      <NativeSelect
        size="xs"
        label={say('pairings.missingValue')}
        value={choice.missingValues}
        data={[
          { value: 'leave-out', label: say('pairings.leaveTheCellOut') },
          { value: 'refuse', label: say('pairings.stop') },
        ]}
        onChange={(e) =>
          onChange({ ...choice, missingValues: e.currentTarget.value === 'refuse' ? 'refuse' : 'leave-out' })
        }
      />
      <NumberField
        size="xs"
        label={say('pairings.leaveOutOutliersBeyondRobustSd')}
        description={say('pairings.emptyNoneLeftOut')}
        min={2}
        value={choice.outlierLimit ?? null}
        onChange={(v) => onChange({ ...choice, outlierLimit: v !== null ? v : null })}
      />
      <MultiSelect
        size="xs"
        label={say('pairings.pairCellsInSpiteOf')}
        description={say('pairings.emptyACellWithAWarning')}
        data={warningSignCodes.map((code) => ({ value: code, label: plainCode(code) }))}
        value={[...choice.signsIgnored]}
        onChange={(next) =>
          onChange({ ...choice, signsIgnored: warningSignCodes.filter((code) => next.includes(code)) })
        }
      />
      <NumberField
        size="xs"
        label={say('pairings.plannedChargeCurrentA')}
        description={say('pairings.forTheConsequencesOfEachPair')}
        min={0}
        value={choice.chargeCurrentA ?? null}
        onChange={(v) => onChange({ ...choice, chargeCurrentA: v !== null && v > 0 ? v : null })}
      />
      <TextInput
        size="xs"
        label={say('pairings.keepTogether')}
        // What was entered for pairs stays in sight, so that it can be taken out.
        disabled={choice.cellsPerStack > 2 && choice.together === ''}
        description={
          choice.cellsPerStack > 2 ? say('groups.keepTogetherIsForPairs') : say('pairings.forExampleA1A7A2A9')
        }
        value={choice.together}
        onChange={(e) => onChange({ ...choice, together: e.currentTarget.value })}
      />
      <TextInput
        size="xs"
        label={say('pairings.keepApart')}
        description={say('pairings.forExampleA1A7')}
        value={choice.apart}
        onChange={(e) => onChange({ ...choice, apart: e.currentTarget.value })}
      />
      <TextInput
        size="xs"
        label={say('pairings.leaveOut')}
        description={say('pairings.forExampleA3A5')}
        value={choice.heldBack}
        onChange={(e) => onChange({ ...choice, heldBack: e.currentTarget.value })}
      />
    </div>
  );
}

type Column = CriteriaFieldsProps['known']['columns'][number];

/** The quantity of a column without its condition: of some quantities there are dozens of columns. */
const quantityOf = ({ quantity, durationS }: Column): string =>
  quantityTitle({ quantity, durationS, direction: null, soc: null });

function offered(column: Column) {
  const { key, cellCount } = column;
  const cells = cellCount === 1 ? say('pairings.cell') : say('pairings.cells');
  return { value: key, label: `${columnTitle(column)} (${cellCount} ${cells})` };
}
