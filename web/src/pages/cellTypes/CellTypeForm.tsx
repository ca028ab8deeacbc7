import { Button, NativeSelect, Textarea, TextInput } from '@mantine/core';
import { useState } from 'react';
import type { CellType, CreateCellType } from '../../../../server/contract/cellTypes.ts';
import type { Chemistry } from '../../../../server/contract/chemistries.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { NumberField } from '../../parts/NumberField.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
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
  { name: 'chargeVoltageLimitV', label: say('cellTypes.chargeVoltageLimitV') },
  { name: 'dischargeCutoffV', label: say('cellTypes.dischargeCutOffV') },
  { name: 'maxChargeCurrentA', label: say('cellTypes.highestChargeCurrentA') },
  { name: 'maxDischargeCurrentA', label: say('cellTypes.highestDischargeCurrentA') },
  { name: 'taperCurrentA', label: say('cellTypes.currentAtWhichAChargeEnds') },
  { name: 'chargeTemperatureMinC', label: say('cellTypes.chargedFromC') },
  { name: 'chargeTemperatureMaxC', label: say('cellTypes.chargedUpToC') },
  { name: 'massG', label: say('cellTypes.massG') },
  { name: 'heatCapacityJPerK', label: say('cellTypes.heatCapacityJK') },
  { name: 'heatTransferWPerK', label: say('cellTypes.heatTransferWK') },
  { name: 'capacityMinAh', label: say('cellTypes.specifiedLeastCapacityAh') },
  { name: 'resistanceMaxOhm', label: say('cellTypes.specifiedGreatestResistanceM'), by: 1000 },
  { name: 'resistanceDurationS', label: say('cellTypes.atTheDurationS') },
  { name: 'referenceTemperatureC', label: say('cellTypes.comparedAtC') },
  { name: 'referenceSoc', label: say('cellTypes.comparedAtSoc'), by: 100 },
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
          ? { text: say('cellTypes.savedNameIsAdded', { savedName: saved.name }) }
          : {
              text: say('cellTypes.isChanged', { savedName: saved.name }),
              undo: () => restore.runAndWait(saved),
            },
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
      aria-label={
        cellType === undefined
          ? say('cellTypes.newCellType')
          : say('cellTypes.cellTypeCellTypeName', { cellTypeName: cellType.name })
      }
      onSubmit={(e) => {
        e.preventDefault();
        save.run(draft);
      }}
    >
      <h2>{cellType === undefined ? say('cellTypes.newCellType') : cellType.name}</h2>
      <div className="form">
        <TextInput
          label={say('cellTypes.nameOfTheType')}
          required
          value={draft.name}
          error={save.error?.reasonFor('name')}
          onChange={(e) => set('name', e.currentTarget.value)}
        />
        <TextInput
          label={say('cellTypes.maker')}
          value={draft.maker}
          onChange={(e) => set('maker', e.currentTarget.value)}
        />
        <NativeSelect
          label={say('cellTypes.chemistry')}
          value={String(draft.chemistryId)}
          data={chemistries.map((c) => ({ value: String(c.id), label: c.name }))}
          onChange={(e) => set('chemistryId', Number(e.currentTarget.value))}
        />
        <NumberField
          label={say('cellTypes.ratedCapacityAh')}
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
          label={say('cellTypes.datasheetItsTitleRevisionWhatIs')}
          autosize
          value={draft.datasheet}
          onChange={(e) => set('datasheet', e.currentTarget.value)}
        />
      </div>
      <Problem error={save.error} />
      <div className="actions">
        <Button type="submit" loading={save.running}>
          {cellType === undefined ? say('cellTypes.add') : say('cellTypes.save')}
        </Button>
        {onCancel !== undefined && (
          <Button variant="default" onClick={onCancel}>
            {say('cellTypes.cancel')}
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
  return typeof now === 'number'
    ? say('cellTypes.nowStored', { toPrecision: Number((now * by).toPrecision(12)) })
    : say('cellTypes.nowStoredEmpty');
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
  return value === undefined ? '' : say('cellTypes.valueCommonPractice', { value });
}
