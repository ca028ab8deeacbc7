import { Button } from '@mantine/core';
import type { ChargeZone } from '../../../../server/contract/cellTypes.ts';
import { NumberField } from '../../parts/NumberField.tsx';

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
      <legend>Charge limits by temperature, as the datasheet gives them</legend>
      <p className="help">Outside all rows there is no charging. No rows: one limit for all temperatures.</p>
      {zones.map((zone, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a row has no identity but its place
        <div key={i} className="stage">
          <NumberField
            size="xs"
            label={`Row ${i + 1} from, °C`}
            signed
            value={zone.fromC}
            error={reasonFor(`chargeZones.${i}.fromC`)}
            onChange={(v) => v !== null && change(i, { fromC: v })}
          />
          <NumberField
            size="xs"
            label="to, °C"
            signed
            value={zone.toC}
            error={reasonFor(`chargeZones.${i}.toC`)}
            onChange={(v) => v !== null && change(i, { toC: v })}
          />
          <NumberField
            size="xs"
            label="at most, A"
            min={0}
            value={zone.maxChargeCurrentA}
            onChange={(v) => change(i, { maxChargeCurrentA: v })}
          />
          <NumberField
            size="xs"
            label="up to, V"
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
          Add a row
        </Button>
        {zones.length > 0 && (
          <Button size="compact-xs" variant="default" onClick={() => onChange(zones.slice(0, -1))}>
            Remove the last row
          </Button>
        )}
      </div>
    </fieldset>
  );
}
