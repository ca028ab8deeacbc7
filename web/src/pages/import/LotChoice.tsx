import { Button, NativeSelect, TextInput } from '@mantine/core';
import { useState } from 'react';
import type { CellType } from '../../../../server/contract/cellTypes.ts';
import type { Lot } from '../../../../server/contract/lots.ts';
import { api } from '../../api/ApiClient.ts';
import type { At, Given } from '../../api/endpointTypes.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { CellTypeForm } from '../cellTypes/CellTypeForm.tsx';
import { cellTypeInShort } from '../cellTypes/cellTypeInShort.ts';

interface LotChoiceProps {
  /** Name of the chosen lot; empty: none yet. */
  readonly value: string;
  readonly onChange: (lot: string) => void;
}

/** Which lot the cells of the files belong to: one that is there, or a new one made on the spot. */
export function LotChoice({ value, onChange }: LotChoiceProps) {
  const lots = useRequest('/lots', { query: { limit: 500 } });
  const [making, setMaking] = useState(false);
  const none = lots.data !== undefined && lots.data.items.length === 0;
  return (
    <>
      <div className="sheet-tools">
        {!none && (
          <NativeSelect
            label={say('import.lotTheCellsBelongTo')}
            value={value}
            data={[
              { value: '', label: say('import.choose') },
              ...(lots.data?.items.map((l) => ({ value: l.name, label: `${l.name} (${l.cellTypeName})` })) ??
                []),
            ]}
            onChange={(e) => onChange(e.currentTarget.value)}
          />
        )}
        {!none && (
          <Button variant="default" aria-expanded={making} onClick={() => setMaking(!making)}>
            {say('import.aNewLot')}
          </Button>
        )}
      </div>
      <Problem error={lots.error} again={lots.again} />
      {(making || none) && (
        <NewLot
          onMade={(lot) => {
            setMaking(false);
            onChange(lot.name);
          }}
        />
      )}
    </>
  );
}

function NewLot({ onMade }: { onMade: (lot: Lot) => void }) {
  const types = useRequest('/cell-types', { query: { limit: 500 } });
  const chemistries = useRequest('/chemistries');
  const [name, setName] = useState('');
  const [chosen, setChosen] = useState<CellType | null>(null);
  const [received, setReceived] = useState('');
  const [adding, setAdding] = useState(false);
  const listed = types.data?.items ?? [];
  const noType = types.data !== undefined && listed.length === 0 && chosen === null;
  const make = useAction(
    (body: Given<At<'POST', '/lots'>>['body'], key) => api.post('/lots', { body, idempotencyKey: key }),
    ['/lots'],
    onMade,
  );
  if (noType || adding) {
    return chemistries.data === undefined ? (
      <Problem error={chemistries.error} again={chemistries.again} />
    ) : (
      <>
        <p>{say('import.firstTheCellTypeEveryLimit')}</p>
        <CellTypeForm
          chemistries={chemistries.data.items}
          onSaved={(added) => {
            setChosen(added);
            setAdding(false);
          }}
          {...(noType ? {} : { onCancel: () => setAdding(false) })}
        />
      </>
    );
  }
  const offered = chosen === null || listed.some((t) => t.id === chosen.id) ? listed : [...listed, chosen];
  return (
    <form
      onSubmit={(e) => {
        e.preventDefault();
        if (chosen !== null)
          make.run({ name, cellTypeId: chosen.id, receivedOn: received === '' ? null : received });
      }}
    >
      <div className="form">
        <TextInput
          label={say('import.nameOfTheNewLot')}
          required
          value={name}
          error={make.error?.reasonFor('name')}
          onChange={(e) => setName(e.currentTarget.value)}
        />
        <NativeSelect
          label={say('import.cellType')}
          required
          value={chosen === null ? '' : String(chosen.id)}
          data={[
            { value: '', label: say('import.choose') },
            ...offered.map((t) => ({ value: String(t.id), label: cellTypeInShort(t) })),
          ]}
          onChange={(e) => setChosen(offered.find((t) => String(t.id) === e.currentTarget.value) ?? null)}
        />
        <TextInput
          type="date"
          label={say('import.receivedOn')}
          value={received}
          onChange={(e) => setReceived(e.currentTarget.value)}
        />
      </div>
      <div className="actions">
        <Button type="submit" loading={make.running} disabled={name.trim() === '' || chosen === null}>
          {say('import.addTheLot')}
        </Button>
        <Button variant="default" onClick={() => setAdding(true)}>
          {say('import.anotherCellType')}
        </Button>
      </div>
      <Problem error={make.error} />
    </form>
  );
}
