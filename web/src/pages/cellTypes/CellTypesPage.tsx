import { Button, Group } from '@mantine/core';
import { useState } from 'react';
import { useRequest } from '../../api/useRequest.ts';
import { quantity } from '../../format/quantity.ts';
import { Empty } from '../../parts/Empty.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { Waiting } from '../../parts/Waiting.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';
import { said } from '../../words/sentences.ts';
import { CellTypeForm } from './CellTypeForm.tsx';
import { ChargeRatesView } from './ChargeRatesView.tsx';
import { TemperatureLawView } from './TemperatureLawView.tsx';

export default function CellTypesPage() {
  const [open, setOpen] = useUrlState('open');
  // `type 3` or `chemistry 1`: whose charge rates are shown.
  const [rates, setRates] = useUrlState('rates');
  const rated = ratedOf(rates);
  const [adding, setAdding] = useState(false);
  const types = useRequest('/cell-types', { query: { limit: 500 } });
  const chemistries = useRequest('/chemistries');
  const [units] = useUnits();
  const chosen = types.data?.items.find((t) => String(t.id) === open);
  const ratedType = types.data?.items.find((t) => say('cellTypes.typeId', { id: t.id }) === rates);
  return (
    <>
      <PageHead
        title={say('cellTypes.cellTypesAndChemistries')}
        about={say('cellTypes.theCellTypeCarriesTheMaker')}
        actions={
          <Button onClick={() => setAdding(!adding)} aria-expanded={adding}>
            {say('cellTypes.addACellType')}
          </Button>
        }
      />
      <Problem error={types.error ?? chemistries.error} again={types.again} />
      {types.loading && <Waiting />}
      {adding && chemistries.data !== undefined && (
        <CellTypeForm
          chemistries={chemistries.data.items}
          onSaved={() => setAdding(false)}
          onCancel={() => setAdding(false)}
        />
      )}
      {types.data !== undefined && types.data.items.length === 0 && !adding && (
        <Empty title={say('cellTypes.noCellTypeYet')}>
          <p>{say('cellTypes.addTheCellTypeWithIts')}</p>
        </Empty>
      )}
      {types.data !== undefined && types.data.items.length > 0 && (
        <Sheet
          label={say('cellTypes.cellTypes')}
          head={[
            say('cellTypes.cellType'),
            say('cellTypes.chemistry'),
            say('cellTypes.rated'),
            say('cellTypes.chargeLimit'),
            say('cellTypes.cutOff'),
            say('cellTypes.highestChargeCurrent'),
            say('cellTypes.lots'),
            '',
          ]}
          numeric={[2, 3, 4, 5, 6]}
          rows={types.data.items.map((t) => [
            t.maker === '' ? t.name : `${t.name} (${t.maker})`,
            t.chemistryName,
            quantity(t.ratedCapacityAh, 'Ah', units),
            `${t.limits.chargeVoltageLimitV} V`,
            `${t.limits.dischargeCutoffV} V`,
            `${t.limits.maxChargeCurrentA} A, ${
              t.limits.maxChargeCurrentBasis === 'datasheet'
                ? plainCode('datasheet')
                : say('cellTypes.commonPractice')
            }`,
            t.lotCount,
            <Group key="open" gap={4} wrap="nowrap">
              <Button size="compact-xs" variant="default" onClick={() => setOpen(String(t.id))}>
                {say('cellTypes.change')}
              </Button>
              <Button
                size="compact-xs"
                variant={rates === say('cellTypes.typeId', { id: t.id }) ? 'filled' : 'default'}
                aria-label={say('cellTypes.ratesAndTemperatureName', { name: t.name })}
                onClick={() =>
                  setRates(
                    rates === say('cellTypes.typeId', { id: t.id })
                      ? ''
                      : say('cellTypes.typeId', { id: t.id }),
                  )
                }
              >
                {say('cellTypes.ratesAndTemperature')}
              </Button>
            </Group>,
          ])}
        />
      )}
      {chosen !== undefined && chemistries.data !== undefined && (
        <CellTypeForm
          key={chosen.id}
          cellType={chosen}
          chemistries={chemistries.data.items}
          onSaved={() => setOpen('')}
          onCancel={() => setOpen('')}
        />
      )}
      {rated !== null && <ChargeRatesView key={`rates ${rates}`} {...rated} />}
      {ratedType !== undefined && <TemperatureLawView key={`law ${rates}`} cellType={ratedType} />}
      <h2>{say('cellTypes.chemistries')}</h2>
      {chemistries.data !== undefined && (
        <Sheet
          label={say('cellTypes.chemistries')}
          head={[
            say('cellTypes.chemistry'),
            say('cellTypes.nominal'),
            say('cellTypes.chargeLimit'),
            say('cellTypes.cutOff'),
            say('cellTypes.usualChargeRate'),
            say('cellTypes.chargedBetween'),
            say('cellTypes.basis'),
            '',
          ]}
          numeric={[1, 2, 3, 4]}
          rows={chemistries.data.items.map((c) => [
            c.name,
            `${c.nominalVoltageV} V`,
            `${c.chargeVoltageLimitV} V`,
            `${c.dischargeCutoffV} V`,
            `${c.usualChargeRateC} C`,
            say('cellTypes.chargeTemperatureMinCAndCharge', {
              chargeTemperatureMinC: c.chargeTemperatureMinC,
              chargeTemperatureMaxC: c.chargeTemperatureMaxC,
            }),
            said(c.basis),
            <Button
              key="rates"
              size="compact-xs"
              variant={rates === say('cellTypes.chemistryId', { id: c.id }) ? 'filled' : 'default'}
              aria-label={say('cellTypes.chargeRatesOfName', { name: c.name })}
              onClick={() =>
                setRates(
                  rates === say('cellTypes.chemistryId', { id: c.id })
                    ? ''
                    : say('cellTypes.chemistryId', { id: c.id }),
                )
              }
            >
              {say('cellTypes.chargeRates')}
            </Button>,
          ])}
        />
      )}
    </>
  );
}

/** `type 3` or `chemistry 2` in the address: whose rates are open. */
function ratedOf(text: string): { of: 'cell-types' | 'chemistries'; id: number } | null {
  const found = /^(type|chemistry) (\d+)$/.exec(text);
  if (found === null) return null;
  return { of: found[1] === 'type' ? 'cell-types' : 'chemistries', id: Number(found[2]) };
}
