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
  const ratedType = types.data?.items.find((t) => `type ${t.id}` === rates);
  return (
    <>
      <PageHead
        title="Cell types and chemistries"
        about="The cell type carries the maker’s datasheet limits. What the datasheet leaves open falls back to a general default of the chemistry, marked as common practice."
        actions={
          <Button onClick={() => setAdding(!adding)} aria-expanded={adding}>
            Add a cell type
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
        <Empty title="No cell type yet">
          <p>Add the cell type with its datasheet limits before importing: every limit and advice uses it.</p>
        </Empty>
      )}
      {types.data !== undefined && types.data.items.length > 0 && (
        <Sheet
          label="Cell types"
          head={[
            'Cell type',
            'Chemistry',
            'Rated',
            'Charge limit',
            'Cut-off',
            'Highest charge current',
            'Lots',
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
              t.limits.maxChargeCurrentBasis === 'datasheet' ? 'datasheet' : 'common practice'
            }`,
            t.lotCount,
            <Group key="open" gap={4} wrap="nowrap">
              <Button size="compact-xs" variant="default" onClick={() => setOpen(String(t.id))}>
                Change
              </Button>
              <Button
                size="compact-xs"
                variant={rates === `type ${t.id}` ? 'filled' : 'default'}
                aria-label={`Rates and temperature: ${t.name}`}
                onClick={() => setRates(rates === `type ${t.id}` ? '' : `type ${t.id}`)}
              >
                Rates and temperature
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
      <h2>Chemistries</h2>
      {chemistries.data !== undefined && (
        <Sheet
          label="Chemistries"
          head={[
            'Chemistry',
            'Nominal',
            'Charge limit',
            'Cut-off',
            'Usual charge rate',
            'Charged between',
            'Basis',
            '',
          ]}
          numeric={[1, 2, 3, 4]}
          rows={chemistries.data.items.map((c) => [
            c.name,
            `${c.nominalVoltageV} V`,
            `${c.chargeVoltageLimitV} V`,
            `${c.dischargeCutoffV} V`,
            `${c.usualChargeRateC} C`,
            `${c.chargeTemperatureMinC} and ${c.chargeTemperatureMaxC} °C`,
            c.basis,
            <Button
              key="rates"
              size="compact-xs"
              variant={rates === `chemistry ${c.id}` ? 'filled' : 'default'}
              aria-label={`Charge rates of ${c.name}`}
              onClick={() => setRates(rates === `chemistry ${c.id}` ? '' : `chemistry ${c.id}`)}
            >
              Charge rates
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
