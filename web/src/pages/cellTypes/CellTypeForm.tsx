import { Button, NativeSelect, Textarea, TextInput } from '@mantine/core';
import { useState } from 'react';
import type { CellType, CreateCellType } from '../../../../server/contract/cellTypes.ts';
import type { Chemistry } from '../../../../server/contract/chemistries.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { NumberField } from '../../parts/NumberField.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { ChargeZonesField } from './ChargeZonesField.tsx';

type Draft = { [K in keyof CreateCellType]: CreateCellType[K] };
type NumberName = {
  [K in keyof Draft]: Draft[K] extends number | null ? K : never;
}[keyof Draft];

interface FieldWords {
  readonly name: NumberName;
  readonly label: string;
  /** Shown = stored × by. */
  readonly by?: number;
}

const datasheetFields: readonly FieldWords[] = [
  { name: 'chargeVoltageLimitV', label: 'Charge voltage limit, V' },
  { name: 'dischargeCutoffV', label: 'Discharge cut-off, V' },
  { name: 'maxChargeCurrentA', label: 'Highest charge current, A' },
  { name: 'maxDischargeCurrentA', label: 'Highest discharge current, A' },
  { name: 'taperCurrentA', label: 'Current at which a charge ends, A' },
  { name: 'chargeTemperatureMinC', label: 'Charged from, °C' },
  { name: 'chargeTemperatureMaxC', label: 'Charged up to, °C' },
  { name: 'massG', label: 'Mass, g' },
  { name: 'heatCapacityJPerK', label: 'Heat capacity, J/K' },
  { name: 'heatTransferWPerK', label: 'Heat transfer, W/K' },
  { name: 'capacityMinAh', label: 'Specified: least capacity, Ah' },
  { name: 'resistanceMaxOhm', label: 'Specified: greatest resistance, mΩ', by: 1000 },
  { name: 'resistanceDurationS', label: 'at the duration, s' },
  { name: 'referenceTemperatureC', label: 'Compared at, °C' },
  { name: 'referenceSoc', label: 'Compared at SOC, %', by: 100 },
];

const blank: Draft = {
  name: '',
  maker: '',
  chemistryId: 0,
  ratedCapacityAh: 0,
  chargeVoltageLimitV: null,
  dischargeCutoffV: null,
  maxChargeCurrentA: null,
  maxDischargeCurrentA: null,
  taperCurrentA: null,
  chargeTemperatureMinC: null,
  chargeTemperatureMaxC: null,
  chargeZones: [],
  massG: null,
  heatCapacityJPerK: null,
  heatTransferWPerK: null,
  capacityMinAh: null,
  resistanceMaxOhm: null,
  resistanceDurationS: null,
  referenceTemperatureC: 25,
  referenceSoc: 0.5,
  datasheet: '',
};

interface CellTypeFormProps {
  readonly cellType?: CellType;
  readonly chemistries: readonly Chemistry[];
  readonly onSaved: (saved: CellType) => void;
  /** Left out where there is nothing to go back to. */
  readonly onCancel?: () => void;
}

/** The datasheet of a cell type. An empty limit falls back to the chemistry's default. */
export function CellTypeForm({ cellType, chemistries, onSaved, onCancel }: CellTypeFormProps) {
  const [draft, setDraft] = useState<Draft>(() => draftOf(cellType, chemistries));
  const [opened] = useState(cellType);
  const tell = useNotice();
  const save = useAction(
    (body: Draft, key) =>
      cellType === undefined
        ? api.post('/cell-types', { body, idempotencyKey: key })
        : api.patch('/cell-types/{id}', { params: { id: cellType.id }, body, version: cellType.version }),
    ['/cell-types', '/lots'],
    (saved) => {
      onSaved(saved);
      tell(
        cellType === undefined
          ? { text: `${saved.name} is added.` }
          : { text: `${saved.name} is changed.`, undo: () => restore.runAndWait(saved) },
      );
    },
  );
  const restore = useAction(
    (saved: CellType) =>
      api.patch('/cell-types/{id}', {
        params: { id: saved.id },
        body: draftOf(cellType, chemistries),
        version: saved.version,
      }),
    ['/cell-types', '/lots'],
  );
  const set = <K extends keyof Draft>(name: K, value: Draft[K]) => setDraft({ ...draft, [name]: value });
  const chemistry = chemistries.find((c) => c.id === draft.chemistryId);
  return (
    <form
      aria-label={cellType === undefined ? 'New cell type' : `Cell type ${cellType.name}`}
      onSubmit={(e) => {
        e.preventDefault();
        save.run(draft);
      }}
    >
      <h2>{cellType === undefined ? 'New cell type' : cellType.name}</h2>
      <div className="form">
        <TextInput
          label="Name of the type"
          required
          value={draft.name}
          error={save.error?.reasonFor('name')}
          onChange={(e) => set('name', e.currentTarget.value)}
        />
        <TextInput label="Maker" value={draft.maker} onChange={(e) => set('maker', e.currentTarget.value)} />
        <NativeSelect
          label="Chemistry"
          value={String(draft.chemistryId)}
          data={chemistries.map((c) => ({ value: String(c.id), label: c.name }))}
          onChange={(e) => set('chemistryId', Number(e.currentTarget.value))}
        />
        <NumberField
          label="Rated capacity, Ah"
          required
          min={0}
          value={draft.ratedCapacityAh === 0 ? null : draft.ratedCapacityAh}
          error={save.error?.reasonFor('ratedCapacityAh')}
          onChange={(v) => set('ratedCapacityAh', v !== null ? v : 0)}
        />
        {datasheetFields.map(({ name, label, by = 1 }) => {
          const value = draft[name];
          return (
            <NumberField
              key={name}
              label={label}
              signed={label.endsWith('°C')}
              placeholder={fallback(name, chemistry)}
              description={changedMeanwhile(opened?.[name], cellType?.[name], by)}
              value={value === null ? null : Number((value * by).toPrecision(12))}
              error={save.error?.reasonFor(name)}
              onChange={(v) => setDraft({ ...draft, [name]: v !== null ? v / by : emptied(name) })}
            />
          );
        })}
        <ChargeZonesField
          zones={draft.chargeZones}
          reasonFor={(field) => save.error?.reasonFor(field)}
          onChange={(zones) => set('chargeZones', zones)}
        />
        <Textarea
          className="wide"
          label="Datasheet: its title, revision, what is noteworthy"
          autosize
          value={draft.datasheet}
          onChange={(e) => set('datasheet', e.currentTarget.value)}
        />
      </div>
      <Problem error={save.error} />
      <div className="actions">
        <Button type="submit" loading={save.running}>
          {cellType === undefined ? 'Add' : 'Save'}
        </Button>
        {onCancel !== undefined && (
          <Button variant="default" onClick={onCancel}>
            Cancel
          </Button>
        )}
      </div>
    </form>
  );
}

/** What is stored now, where somebody else changed the field since the form was opened. */
function changedMeanwhile(
  before: number | null | undefined,
  now: number | null | undefined,
  by: number,
): string | undefined {
  if (before === now) return undefined;
  return typeof now === 'number' ? `now stored: ${Number((now * by).toPrecision(12))}` : 'now stored: empty';
}

function draftOf(cellType: CellType | undefined, chemistries: readonly Chemistry[]): Draft {
  if (cellType === undefined) return { ...blank, chemistryId: chemistries[0]?.id ?? 0 };
  const entries = (Object.keys(blank) as (keyof Draft)[]).map((name) => [name, cellType[name]]);
  return { ...blank, ...Object.fromEntries(entries) };
}

/** The two conditions of comparison cannot be empty; they go back to their usual values. */
function emptied(name: NumberName): number | null {
  if (name === 'referenceTemperatureC') return 25;
  if (name === 'referenceSoc') return 0.5;
  return null;
}

function fallback(name: NumberName, chemistry: Chemistry | undefined): string {
  if (chemistry === undefined) return '';
  const defaults: Partial<Record<NumberName, number>> = {
    chargeVoltageLimitV: chemistry.chargeVoltageLimitV,
    dischargeCutoffV: chemistry.dischargeCutoffV,
    chargeTemperatureMinC: chemistry.chargeTemperatureMinC,
    chargeTemperatureMaxC: chemistry.chargeTemperatureMaxC,
  };
  const value = defaults[name];
  return value === undefined ? '' : `${value} (common practice)`;
}
