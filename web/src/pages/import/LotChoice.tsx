import { Button, NativeSelect, TextInput } from '@mantine/core';
import { useState } from 'react';
import type { Lot } from '../../../../server/contract/lots.ts';
import { api } from '../../api/ApiClient.ts';
import type { At, Given } from '../../api/endpointTypes.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { Problem } from '../../parts/Problem.tsx';
import { CellTypeForm } from '../cellTypes/CellTypeForm.tsx';

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
            label="Lot the cells belong to"
            value={value}
            data={[
              { value: '', label: 'choose…' },
              ...(lots.data?.items.map((l) => ({ value: l.name, label: `${l.name} (${l.cellTypeName})` })) ??
                []),
            ]}
            onChange={(e) => onChange(e.currentTarget.value)}
          />
        )}
        {!none && (
          <Button variant="default" aria-expanded={making} onClick={() => setMaking(!making)}>
            A new lot
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
  const [typeId, setTypeId] = useState('');
  const [received, setReceived] = useState('');
  const [adding, setAdding] = useState(false);
  const noType = types.data !== undefined && types.data.items.length === 0;
  const make = useAction(
    (body: Given<At<'POST', '/lots'>>['body'], key) => api.post('/lots', { body, idempotencyKey: key }),
    ['/lots'],
    onMade,
  );
  const chosen = typeId === '' ? (types.data?.items[0]?.id ?? 0) : Number(typeId);
  if (noType || adding) {
    return chemistries.data === undefined ? (
      <Problem error={chemistries.error} again={chemistries.again} />
    ) : (
      <>
        <p>First the cell type, because every limit and every advice rests on its datasheet.</p>
        <CellTypeForm chemistries={chemistries.data.items} onDone={() => setAdding(false)} />
      </>
    );
  }
  return (
    <form
      onSubmit={(e) => {
        e.preventDefault();
        make.run({ name, cellTypeId: chosen, receivedOn: received === '' ? null : received });
      }}
    >
      <div className="form">
        <TextInput
          label="Name of the new lot"
          required
          value={name}
          error={make.error?.reasonFor('name')}
          onChange={(e) => setName(e.currentTarget.value)}
        />
        <NativeSelect
          label="Cell type"
          value={String(chosen)}
          data={types.data?.items.map((t) => ({ value: String(t.id), label: t.name })) ?? []}
          onChange={(e) => setTypeId(e.currentTarget.value)}
        />
        <TextInput
          type="date"
          label="Received on"
          value={received}
          onChange={(e) => setReceived(e.currentTarget.value)}
        />
      </div>
      <div className="actions">
        <Button type="submit" loading={make.running} disabled={name.trim() === '' || chosen === 0}>
          Add the lot
        </Button>
        <Button variant="default" onClick={() => setAdding(true)}>
          Another cell type
        </Button>
      </div>
      <Problem error={make.error} />
    </form>
  );
}
