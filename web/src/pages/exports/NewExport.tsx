import { Button, Checkbox, NativeSelect, Radio } from '@mantine/core';
import { useState } from 'react';
import { formatsOfSubject } from '../../../../server/contract/exportFormats.ts';
import type { ExportFormat, ExportSubjectKind } from '../../../../server/contract/exports.ts';
import { api } from '../../api/ApiClient.ts';
import type { At, Given } from '../../api/endpointTypes.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { Cautions } from '../../parts/Cautions.tsx';
import { NumberField } from '../../parts/NumberField.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { say } from '../../words/i18n.ts';
import { formatNames, subjectLists, subjectNames } from './formats.ts';

interface Named {
  readonly id: number;
  readonly name?: string;
  readonly serial?: string;
  readonly label?: string;
}

const kinds = Object.keys(subjectNames) as ExportSubjectKind[];

/** Chooses what to export and in which form; the file is downloaded at once. */
export function NewExport() {
  const [kindText, setKind] = useUrlState('subjectKind', 'lot');
  const [idText, setId] = useUrlState('subjectId');
  const kind = kinds.find((k) => k === kindText) ?? 'lot';
  const fitting = formatsOfSubject[kind];
  const [wanted, setWanted] = useState<ExportFormat | null>(null);
  const [withRecords, setWithRecords] = useState(false);
  const format = wanted !== null && fitting.includes(wanted) ? wanted : fitting[0];
  const list = useRequest(subjectLists[kind] ?? null, { query: { limit: 500 } });
  const make = useAction(
    (body: Given<At<'POST', '/exports'>>['body'], key) => api.post('/exports', { body, idempotencyKey: key }),
    ['/exports'],
    (entry) => {
      const link = document.createElement('a');
      link.href = api.address('/exports/{id}/file', { params: { id: entry.id } });
      link.download = entry.fileName;
      link.click();
    },
  );
  const items: readonly Named[] = list.data?.items ?? [];
  const inList = items.some((i) => String(i.id) === idText);
  return (
    <form
      onSubmit={(e) => {
        e.preventDefault();
        if (idText !== '' && format !== undefined)
          make.run({ format, subjectKind: kind, subjectId: Number(idText), withRecords });
      }}
    >
      <div className="form">
        <NativeSelect
          label={say('exports.export')}
          value={kind}
          data={kinds.map((k) => ({ value: k, label: subjectNames[k] }))}
          onChange={(e) => {
            setKind(e.currentTarget.value);
            setId('');
          }}
        />
        {subjectLists[kind] === undefined ? (
          <NumberField
            label={say('exports.number')}
            min={1}
            value={idText === '' ? null : Number(idText)}
            onChange={(v) => setId(v !== null ? String(v) : '')}
          />
        ) : (
          <NativeSelect
            label={say('exports.which')}
            required
            value={idText}
            data={[
              { value: '', label: say('exports.choose') },
              ...(idText !== '' && !inList
                ? [{ value: idText, label: say('exports.numberIdText', { idText }) }]
                : []),
              ...items.map((i) => ({ value: String(i.id), label: nameOf(i) })),
            ]}
            onChange={(e) => setId(e.currentTarget.value)}
          />
        )}
        <Radio.Group
          label={say('exports.as')}
          className="wide"
          value={format ?? ''}
          onChange={(v) => setWanted(fitting.find((f) => f === v) ?? null)}
        >
          <div className="form">
            {fitting.map((f) => (
              <Radio key={f} value={f} label={formatNames[f].name} description={formatNames[f].why} />
            ))}
          </div>
        </Radio.Group>
        {format === 'csv-package' && (
          <Checkbox
            className="wide"
            label={say('exports.withTheSampleRecordsCanBe')}
            checked={withRecords}
            onChange={(e) => setWithRecords(e.currentTarget.checked)}
          />
        )}
      </div>
      <Problem error={list.error} />
      <Button type="submit" loading={make.running} disabled={idText === '' || format === undefined}>
        {say('exports.export')}
      </Button>
      {idText === '' && (
        <p>
          {say('exports.firstChooseAboveWhichItIs', {
            subjectNames: subjectNames[kind].replace(/^an? /, ''),
          })}
        </p>
      )}
      <Problem error={make.error} />
      {(kind === 'charge-study' || kind === 'stack' || kind === 'pairing') && <Cautions />}
    </form>
  );
}

function nameOf(item: Named): string {
  for (const name of [item.name, item.serial, item.label]) {
    if (name !== undefined && name !== '') return name;
  }
  return say('exports.numberId', { id: item.id });
}
