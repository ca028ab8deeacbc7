import { Button, NativeSelect, TextInput } from '@mantine/core';
import { useEffect, useMemo, useRef, useState } from 'react';
import { Link } from 'react-router';
import type { ImportOptions } from '../../../../server/contract/import.ts';
import { useRequest } from '../../api/useRequest.ts';
import { leadToUnreadable, NumberField } from '../../parts/NumberField.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { useDelayed } from '../../parts/useDelayed.ts';
import { useUrlState } from '../../parts/useUrlState.ts';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';
import { ColumnMaps } from './ColumnMaps.tsx';
import { DropZone } from './DropZone.tsx';
import { EarlierImports } from './EarlierImports.tsx';
import { FileCard } from './FileCard.tsx';
import { KnownHeaders } from './KnownHeaders.tsx';
import { LotChoice } from './LotChoice.tsx';
import { type QueuedFile, useFileQueue } from './useFileQueue.ts';

const testKinds = ['pulse', 'capacity', 'rest', 'impedance', 'cycling'] as const;

export default function ImportPage() {
  const [lot, setLot] = useUrlState('lot');
  const [common, setCommon] = useState<ImportOptions>({});
  const queue = useFileQueue();
  // Also the lot: files that wait go where the page says when they are imported.
  const options = useMemo<ImportOptions>(() => (lot === '' ? common : { ...common, lot }), [common, lot]);
  const shared = useDelayed(options, 400);
  const told = useRef(shared);
  useEffect(() => {
    queue.changeAll(told.current, shared);
    told.current = shared;
  }, [queue.changeAll, shared]);
  const ready = queue.files.filter((f) => f.state === 'ready').length;
  const needsLot = queue.files.some(
    ({ state, options, preview }) => state === 'ready' && (options.kind ?? preview?.kind) !== 'stack-log',
  );
  const stacksMissing = queue.files.some(
    ({ state, options, preview }) =>
      state === 'ready' && (options.kind ?? preview?.kind) === 'stack-log' && options.stack === undefined,
  );
  const taken = queue.files.filter((f) => f.state === 'taken').length;
  return (
    <>
      <PageHead title={say('import.importFiles')} about={say('import.aFileIsTakenWholeOr')} />
      <h2>{say('import.n1TheLot')}</h2>
      <LotChoice value={lot} onChange={setLot} />
      <h2>{say('import.n2TheFiles')}</h2>
      <Common options={common} onChange={setCommon} />
      <KnownHeaders />
      <DropZone onFiles={(files) => queue.add(files, options)} />
      {queue.files.length > 0 && (
        <>
          <h2>{say('import.n3HowTheyAreUnderstood')}</h2>
          {queue.files.map((entry) => (
            <FileCard
              key={entry.key}
              entry={entry}
              onOptions={(next) => queue.change(entry.key, next)}
              onRemove={() => queue.remove(entry.key)}
            />
          ))}
          <div className="at-hand">
            <AllProgress files={queue.files} />
            {lot === '' && needsLot && <p className="warning">{say('import.chooseTheLotAboveFirst')}</p>}
            {stacksMissing && <p className="warning">{say('import.chooseTheStackOfEachStack')}</p>}
            <div className="actions">
              {(ready > 0 || queue.busy || taken === 0) && (
                <Button
                  disabled={ready === 0 || (lot === '' && needsLot) || stacksMissing}
                  loading={queue.busy}
                  onClick={() => {
                    if (leadToUnreadable() === null) void queue.importAll(told.current, options);
                  }}
                >
                  {say('import.importReadyReady', {
                    ready:
                      ready === 1
                        ? say('import.theFileThatIs')
                        : say('import.theReadyFilesThatAre', { ready }),
                  })}
                </Button>
              )}
              {taken > 0 && !queue.busy && <ToTheLot lot={lot} />}
              {!queue.busy && (
                <Button variant="subtle" onClick={queue.clear}>
                  {say('import.clearThisList')}
                </Button>
              )}
            </div>
          </div>
        </>
      )}
      <ColumnMaps />
      <EarlierImports />
    </>
  );
}

function Common({
  options,
  onChange,
}: {
  options: ImportOptions;
  onChange: (options: ImportOptions) => void;
}) {
  return (
    <details>
      <summary>{say('import.detailsMissingFromTheFiles')}</summary>
      <div className="form">
        <TextInput
          size="xs"
          label={say('import.serialOfTheCell')}
          description={say('import.whereAFileDoesNotName')}
          value={options.cell ?? ''}
          onChange={(e) => onChange(given(options, 'cell', e.currentTarget.value))}
        />
        <TextInput
          size="xs"
          label={say('import.patternOfTheFileNames')}
          description={say('import.forExampleCellKindTemperatureC')}
          value={options.namePattern ?? ''}
          onChange={(e) => onChange(given(options, 'namePattern', e.currentTarget.value))}
        />
        <NativeSelect
          size="xs"
          label={say('import.kindOfTest')}
          value={options.testKind ?? ''}
          data={[
            { value: '', label: say('import.asFound') },
            ...testKinds.map((kind) => ({ value: kind, label: plainCode(kind) })),
          ]}
          onChange={(e) => {
            const { testKind: _, ...rest } = options;
            const kind = testKinds.find((k) => k === e.currentTarget.value);
            onChange(kind === undefined ? rest : { ...rest, testKind: kind });
          }}
        />
        <NumberField
          size="xs"
          label={say('import.temperatureOfTheTestC')}
          signed
          value={options.temperatureC ?? null}
          onChange={(v) => {
            const { temperatureC: _, ...rest } = options;
            onChange(v !== null ? { ...rest, temperatureC: v } : rest);
          }}
        />
        <NumberField
          size="xs"
          label={say('import.startSocOfTheTest')}
          value={options.startSoc === undefined ? null : 100 * options.startSoc}
          onChange={(v) => {
            const { startSoc: _, ...rest } = options;
            onChange(v !== null ? { ...rest, startSoc: v / 100 } : rest);
          }}
        />
      </div>
    </details>
  );
}

function given(options: ImportOptions, name: 'cell' | 'namePattern', value: string): ImportOptions {
  const { [name]: _, ...rest } = options;
  return value.trim() === '' ? rest : { ...rest, [name]: value.trim() };
}

/** Progress of all files together. */
function AllProgress({ files }: { files: readonly QueuedFile[] }) {
  // A file that is refused as soon as it is looked at is never sent, so it is not part of the work.
  const sent = files.filter((f) => f.state === 'sending' || f.job !== null);
  if (sent.length === 0 || files.length < 2) return null;
  const all = files.filter((f) => f.state === 'ready' || sent.includes(f));
  const done = sent.reduce((sum, f) => {
    if (f.state === 'taken' || f.state === 'refused' || f.state === 'failed') return sum + 1;
    return sum + (f.state === 'working' ? (f.job?.progress ?? 0) : 0);
  }, 0);
  const percent = Math.round((100 * done) / all.length);
  return (
    <div
      className="bar"
      role="progressbar"
      aria-label={say('import.allFiles')}
      aria-valuenow={percent}
      aria-valuemin={0}
      aria-valuemax={100}
    >
      <div style={{ width: `${percent}%` }} />
    </div>
  );
}

function ToTheLot({ lot }: { lot: string }) {
  const lots = useRequest('/lots', { query: { limit: 500 } });
  const found = lots.data?.items.find((l) => l.name === lot);
  if (found === undefined) return null;
  return (
    <Button component={Link} to={`/lots/${found.id}`}>
      {say('import.nextTheLot', { foundName: found.name })}
    </Button>
  );
}
