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
const names = [
  { value: '', label: say('ageing.none') },
  { value: 'wang-2011', label: say('ageing.lfpCycling') },
  { value: 'schmalstieg-2014', label: say('ageing.nmcStorageAndCycling') },
];

/** Takes a published law and the conditions it is to be drawn at. */
export function PublishedLawsInput({ onChange }: { onChange: (chosen: ChosenLaws) => void }) {
  const [law, setLaw] = useState('');
  const [cRate, setRate] = useState<(typeof rates)[number]>(0.5);
  const [temperatureC, setTemperature] = useState<number | null>(25);
  const [depth, setDepth] = useState<number | null>(100);
  const [storageVoltageV, setStorage] = useState<number | null>(3.7);
  const [cyclingVoltageV, setCycling] = useState<number | null>(3.7);
  const [cyclesPerDay, setPerDay] = useState<number | null>(null);
  const chosen = useMemo((): ChosenLaws => {
    if (law === '') return { laws: [], complete: true };
    const missing: ChosenLaws = { laws: [], complete: false };
    if (temperatureC === null || depth === null) return missing;
    const depthOfDischarge = depth / 100;
    if (law === 'wang-2011')
      return { laws: [{ law, cRate, temperatureC, depthOfDischarge }], complete: true };
    if (storageVoltageV === null || cyclingVoltageV === null || cyclesPerDay === null) return missing;
    const at = { temperatureC, storageVoltageV, cyclingVoltageV, depthOfDischarge, cyclesPerDay };
    return { laws: [{ law: 'schmalstieg-2014', ...at }], complete: true };
  }, [law, cRate, temperatureC, depth, storageVoltageV, cyclingVoltageV, cyclesPerDay]);
  useEffect(() => onChange(chosen), [chosen, onChange]);
  return (
    <details>
      <summary>{say('ageing.aPublishedLawBesideTheCells')}</summary>
      <p>The law of another cell, drawn from each cell’s own first value on: a comparison, not a forecast.</p>
      <div className="form">
        <NativeSelect
          size="xs"
          label={say('ageing.publishedLaw')}
          value={law}
          data={names}
          onChange={(e) => setLaw(e.currentTarget.value)}
        />
        {law !== '' && (
          <>
            <NumberField
              size="xs"
              label={say('ageing.temperatureOfTheCellsC')}
              signed
              min={-30}
              max={70}
              value={temperatureC}
              onChange={setTemperature}
            />
            <NumberField
              size="xs"
              label={say('ageing.depthOfDischargePercent')}
              min={1}
              max={100}
              value={depth}
              onChange={setDepth}
            />
          </>
        )}
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
        {law === 'schmalstieg-2014' && (
          <>
            <NumberField
              size="xs"
              label={say('ageing.voltageInStorageV')}
              min={3.2}
              max={4.3}
              value={storageVoltageV}
              onChange={setStorage}
            />
            <NumberField
              size="xs"
              label={say('ageing.meanVoltageInCyclingV')}
              min={3}
              max={4.3}
              value={cyclingVoltageV}
              onChange={setCycling}
            />
            <NumberField
              size="xs"
              label={say('ageing.cyclesADay')}
              min={0.01}
              max={500}
              value={cyclesPerDay}
              onChange={setPerDay}
            />
          </>
        )}
      </div>
      {!chosen.complete && <p role="status">{say('ageing.fillInAllConditionsOfTheLaw')}</p>}
    </details>
  );
}
