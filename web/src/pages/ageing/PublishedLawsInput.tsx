import { NativeSelect } from '@mantine/core';
import { useEffect, useMemo, useState } from 'react';
import type { PublishedLawRequest } from '../../../../server/contract/publishedLaws.ts';
import { NumberField } from '../../parts/NumberField.tsx';
import { say } from '../../words/i18n.ts';

/** The published laws asked for, and whether something entered keeps them from being asked. */
export interface ChosenLaws {
  readonly laws: readonly PublishedLawRequest[];
  readonly complete: boolean;
}

const rates = [0.5, 2, 6, 10] as const;
const lawNames = ['wang-2011', 'schmalstieg-2014'] as const;
const names = [
  { value: '', label: say('ageing.none') },
  { value: 'wang-2011', label: say('ageing.lfpCycling') },
  { value: 'schmalstieg-2014', label: say('ageing.nmcStorageAndCycling') },
];

/** The conditions that are numbers, with their limits; the ends are those of the request. */
const conditions = [
  { name: 'temperatureC', label: say('ageing.temperatureOfTheCellsC'), min: -30, max: 70, usual: 25 },
  { name: 'depthPercent', label: say('ageing.depthOfDischargePercent'), min: 1, max: 100, usual: 100 },
  { name: 'storageVoltageV', label: say('ageing.voltageInStorageV'), min: 3.2, max: 4.3, usual: 3.7 },
  { name: 'cyclingVoltageV', label: say('ageing.meanVoltageInCyclingV'), min: 3, max: 4.3, usual: 3.7 },
  { name: 'cyclesPerDay', label: say('ageing.cyclesADay'), min: 0.01, max: 500, usual: null },
] as const;
type Condition = (typeof conditions)[number]['name'];
type Conditions = Readonly<Record<Condition, number | null>>;

const asked: Readonly<Record<PublishedLawRequest['law'], readonly Condition[]>> = {
  'wang-2011': ['temperatureC', 'depthPercent'],
  'schmalstieg-2014': ['temperatureC', 'depthPercent', 'storageVoltageV', 'cyclingVoltageV', 'cyclesPerDay'],
};

function lawAt(
  law: PublishedLawRequest['law'] | '',
  cRate: (typeof rates)[number],
  values: Conditions,
): ChosenLaws {
  if (law === '') return { laws: [], complete: true };
  const missing: ChosenLaws = { laws: [], complete: false };
  const { temperatureC, depthPercent, storageVoltageV, cyclingVoltageV, cyclesPerDay } = values;
  if (temperatureC === null || depthPercent === null) return missing;
  const common = { temperatureC, depthOfDischarge: depthPercent / 100 };
  if (law === 'wang-2011') return { laws: [{ law, cRate, ...common }], complete: true };
  if (storageVoltageV === null || cyclingVoltageV === null || cyclesPerDay === null) return missing;
  return { laws: [{ law, ...common, storageVoltageV, cyclingVoltageV, cyclesPerDay }], complete: true };
}

/** Takes a published law and the conditions it is to be drawn at. */
export function PublishedLawsInput({ onChange }: { onChange: (chosen: ChosenLaws) => void }) {
  const [law, setLaw] = useState<PublishedLawRequest['law'] | ''>('');
  const [cRate, setRate] = useState<(typeof rates)[number]>(0.5);
  const [values, setValues] = useState<Conditions>(
    () => Object.fromEntries(conditions.map(({ name, usual }) => [name, usual])) as Conditions,
  );
  const chosen = useMemo(() => lawAt(law, cRate, values), [law, cRate, values]);
  useEffect(() => onChange(chosen), [chosen, onChange]);
  return (
    <details>
      <summary>{say('ageing.aPublishedLawBesideTheCells')}</summary>
      <p>{say('ageing.theLawOfAnotherCellIsAComparison')}</p>
      <div className="form">
        <NativeSelect
          size="xs"
          label={say('ageing.publishedLaw')}
          value={law}
          data={names}
          onChange={(e) => setLaw(lawNames.find((name) => name === e.currentTarget.value) ?? '')}
        />
        {law === 'wang-2011' && (
          <NativeSelect
            size="xs"
            label={say('ageing.rateC')}
            description={say('ageing.theLawHasAFactorForTheseRates')}
            value={String(cRate)}
            data={rates.map(String)}
            onChange={(e) => setRate(rates.find((rate) => String(rate) === e.currentTarget.value) ?? 0.5)}
          />
        )}
        {conditions
          .filter(({ name }) => law !== '' && asked[law].includes(name))
          .map(({ name, label, min, max }) => (
            <NumberField
              key={name}
              size="xs"
              label={label}
              signed={min < 0}
              min={min}
              max={max}
              value={values[name]}
              onChange={(value) => setValues((before) => ({ ...before, [name]: value }))}
            />
          ))}
      </div>
      {!chosen.complete && <p role="status">{say('ageing.fillInAllConditionsOfTheLaw')}</p>}
    </details>
  );
}
