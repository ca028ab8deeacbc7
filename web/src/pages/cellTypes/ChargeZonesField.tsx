import { Button } from '@mantine/core';
import type { ChargeZone } from '../../../../server/contract/cellTypes.ts';
import { NumberField } from '../../parts/NumberField.tsx';
import { say } from '../../words/i18n.ts';

interface ChargeZonesFieldProps {
  readonly zones: readonly ChargeZone[];
  readonly reasonFor: (field: string) => string | undefined;
  readonly onChange: (zones: ChargeZone[]) => void;
}

/** The datasheet's charge current and voltage by temperature: rows that bound every study and rate of the type. */
export function ChargeZonesField({ zones, reasonFor, onChange }: ChargeZonesFieldProps) {
  const change = (index: number, part: Partial<ChargeZone>) =>
    onChange(zones.map((zone, i) => (i === index ? { ...zone, ...part } : zone)));
  const last = zones[zones.length - 1];
  const next: ChargeZone = {
    fromC: last?.toC ?? 0,
    toC: (last?.toC ?? 0) + 10,
    maxChargeCurrentA: null,
    maxVoltageV: null,
  };
  return (
    <fieldset className="inputs wide">
      <legend>{say('cellTypes.chargeLimitsByTemperatureAsThe')}</legend>
      <p className="help">{say('cellTypes.outsideAllRowsThereIsNo')}</p>
      {zones.map((zone, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a row has no identity but its place
        <div key={i} className="stage">
          <NumberField
            size="xs"
            label={say('cellTypes.rowIFromC', { i: i + 1 })}
            signed
            value={zone.fromC}
            error={reasonFor(`chargeZones.${i}.fromC`)}
            onChange={(v) => v !== null && change(i, { fromC: v })}
          />
          <NumberField
            size="xs"
            label={say('cellTypes.toC')}
            signed
            value={zone.toC}
            error={reasonFor(`chargeZones.${i}.toC`)}
            onChange={(v) => v !== null && change(i, { toC: v })}
          />
          <NumberField
            size="xs"
            label={say('cellTypes.atMostA')}
            min={0}
            value={zone.maxChargeCurrentA}
            onChange={(v) => change(i, { maxChargeCurrentA: v })}
          />
          <NumberField
            size="xs"
            label={say('cellTypes.upToV')}
            min={0}
            step={0.01}
            value={zone.maxVoltageV}
            onChange={(v) => change(i, { maxVoltageV: v })}
          />
        </div>
      ))}
      <div className="actions">
        <Button
          size="compact-xs"
          variant="default"
          disabled={zones.length >= 12}
          onClick={() => onChange([...zones, next])}
        >
          {say('cellTypes.addARow')}
        </Button>
        {zones.length > 0 && (
          <Button size="compact-xs" variant="default" onClick={() => onChange(zones.slice(0, -1))}>
            {say('cellTypes.removeTheLastRow')}
          </Button>
        )}
      </div>
    </fieldset>
  );
}
