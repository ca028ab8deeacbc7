import { Button, NativeSelect, Textarea, TextInput } from '@mantine/core';
import { useState } from 'react';
import { useNavigate } from 'react-router';
import type { ChangeLot, Lot } from '../../../../server/contract/lots.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { cellTypeInShort } from '../cellTypes/cellTypeInShort.ts';

type Editable = Pick<Lot, 'name' | 'cellTypeId' | 'receivedOn' | 'note'>;

const editable = ({ name, cellTypeId, receivedOn, note }: Lot): Editable => ({
  name,
  cellTypeId,
  receivedOn,
  note,
});

/** Name, cell type, date and note of a lot; a lot without cells can be deleted. */
export function EditLot({ lot, onDone }: { lot: Lot; onDone: () => void }) {
  const [opened] = useState<Editable>(() => editable(lot));
  const [draft, setDraft] = useState(opened);
  const types = useRequest('/cell-types', { query: { limit: 500 } });
  const tell = useNotice();
  const go = useNavigate();
  const params = { id: lot.id };
  const stale = ['/lots', '/cells', '/tests', '/ageing', '/cell-types'];
  const save = useAction(
    (body: ChangeLot) => api.patch('/lots/{id}', { params, body, version: lot.version }),
    stale,
    (saved) => {
      const before = editable(lot);
      onDone();
      tell({
        text: say('lots.isChanged', { savedName: saved.name }),
        undo: () => restore.runAndWait({ body: before, version: saved.version }),
      });
    },
  );
  const restore = useAction(
    (given: { body: ChangeLot; version: number }) => api.patch('/lots/{id}', { params, ...given }),
    stale,
  );
  const remove = useAction(
    () => api.delete('/lots/{id}', { params, version: lot.version }),
    [{ only: '/lots' }],
    () => {
      tell({ text: say('lots.theLotIsDeleted', { lotName: lot.name }) });
      void go('/lots');
    },
  );
  const set = <K extends keyof Editable>(name: K, value: Editable[K]) =>
    setDraft({ ...draft, [name]: value });
  return (
    <form
      aria-label={say('lots.editLotName', { lotName: lot.name })}
      className="not-print"
      onSubmit={(e) => {
        e.preventDefault();
        save.run(changed(opened, draft));
      }}
    >
      <div className="form">
        <TextInput
          label={say('lots.nameOfTheLot')}
          required
          value={draft.name}
          error={save.error?.reasonFor('name')}
          onChange={(e) => set('name', e.currentTarget.value)}
        />
        <NativeSelect
          label={say('lots.cellType')}
          value={String(draft.cellTypeId)}
          data={(types.data?.items ?? []).map((t) => ({ value: String(t.id), label: cellTypeInShort(t) }))}
          onChange={(e) => set('cellTypeId', Number(e.currentTarget.value))}
        />
        <TextInput
          type="date"
          label={say('lots.receivedOn')}
          value={draft.receivedOn ?? ''}
          onChange={(e) => set('receivedOn', e.currentTarget.value === '' ? null : e.currentTarget.value)}
        />
        <Textarea
          className="wide"
          label={say('lots.note')}
          autosize
          value={draft.note}
          onChange={(e) => set('note', e.currentTarget.value)}
        />
      </div>
      {draft.cellTypeId !== lot.cellTypeId && <TypeChanges lot={lot} />}
      <Problem error={types.error ?? save.error ?? remove.error} />
      <div className="actions">
        <Button type="submit" loading={save.running} disabled={draft.name.trim() === ''}>
          {say('lots.save')}
        </Button>
        <Button variant="default" onClick={onDone}>
          {say('lots.cancel')}
        </Button>
        {lot.counts.cells === 0 && (
          <Button variant="default" loading={remove.running} onClick={() => remove.run(undefined)}>
            {say('lots.deleteTheEmptyLot')}
          </Button>
        )}
      </div>
    </form>
  );
}

/** Only what was changed here, so that what somebody else changed in the meantime stays. */
function changed(before: Editable, now: Editable): ChangeLot {
  return {
    ...(now.name === before.name ? {} : { name: now.name }),
    ...(now.cellTypeId === before.cellTypeId ? {} : { cellTypeId: now.cellTypeId }),
    ...(now.receivedOn === before.receivedOn ? {} : { receivedOn: now.receivedOn }),
    ...(now.note === before.note ? {} : { note: now.note }),
  };
}

/** What another cell type touches: everything that was judged or planned by the limits of the present one. */
function TypeChanges({ lot: { counts } }: { lot: Lot }) {
  const touched = [
    counts.tests > 0 ? say('lots.testsTests', { tests: counts.tests }) : '',
    counts.pairings > 0
      ? `${counts.pairings} ${counts.pairings === 1 ? say('lots.pairing') : say('lots.pairings2')}`
      : '',
    counts.stacks > 0
      ? `${counts.stacks} ${counts.stacks === 1 ? say('lots.stack') : say('lots.stacks2')}`
      : '',
  ].filter((text) => text !== '');
  return (
    <p className="warning">
      {say('lots.anotherCellTypeMeansOtherVoltage', { cells: counts.cells })}
      {touched.length > 0 && say('lots.touchedOfThisLotWereMade', { touched: touched.join(', ') })}
    </p>
  );
}
