import { Button } from '@mantine/core';
import { useState } from 'react';
import type { ImportConsequences } from '../../../../server/contract/import.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';

/** Undoes an import after saying what depends on it; for a day that can be taken back. */
export function UndoImport({ id, name }: { id: number; name: string }) {
  const [asking, setAsking] = useState(false);
  const tell = useNotice();
  const touched = useRequest(asking ? '/imports/{id}/consequences' : null, { params: { id } });
  const undo = useAction(
    () => api.post('/imports/{id}/undo', { params: { id } }),
    ['/'],
    () => {
      setAsking(false);
      tell({ text: `The import of ${name} is undone.` });
    },
  );
  if (!asking) {
    return (
      <Button
        size="compact-xs"
        variant="default"
        aria-label={`Undo the import of ${name}`}
        onClick={() => setAsking(true)}
      >
        Undo
      </Button>
    );
  }
  return (
    <section aria-label={`Undo the import of ${name}`}>
      <Problem error={touched.error ?? undo.error} again={touched.again} />
      {touched.data !== undefined && <Consequences of={touched.data} />}
      <Button size="compact-xs" loading={undo.running} onClick={() => undo.run(undefined)}>
        Undo import
      </Button>{' '}
      <Button size="compact-xs" variant="default" onClick={() => setAsking(false)}>
        Cancel
      </Button>
    </section>
  );
}

function Consequences({ of }: { of: ImportConsequences }) {
  const named = (what: string, things: readonly { name: string }[]) =>
    things.length === 0 ? [] : [`${what}: ${listed(things.map((t) => t.name))}`];
  const depends = [
    ...named('pairings', of.pairings),
    ...named('stacks', of.stacks),
    ...named('charge studies', of.chargeStudies),
    ...(of.exports > 0 ? [`exports: ${of.exports}`] : []),
  ];
  return (
    <>
      <p>
        {of.tests} {of.tests === 1 ? 'test' : 'tests'} and {of.measurements} values no longer count.
        {of.cellsRemoved.length > 0 &&
          ` Removed, because nothing else depends on them: ${listed(of.cellsRemoved)}.`}
      </p>
      {depends.length > 0 && (
        <p className="warning">Made from these cells, and no longer supported: {depends.join('; ')}.</p>
      )}
      <p>
        {of.cellsRemoved.length > 0
          ? 'To take this back, import the file again.'
          : 'This can be taken back for a day, here.'}
      </p>
    </>
  );
}

function listed(names: readonly string[]): string {
  return names.length > 6 ? `${names.slice(0, 6).join(', ')} and ${names.length - 6} more` : names.join(', ');
}

/** Takes the undoing of an import back. */
export function RestoreImport({ id, name }: { id: number; name: string }) {
  const restore = useAction(() => api.post('/imports/{id}/restore', { params: { id } }), ['/']);
  return (
    <>
      <Button
        size="compact-xs"
        variant="default"
        loading={restore.running}
        aria-label={`Restore the import of ${name}`}
        onClick={() => restore.run(undefined)}
      >
        Restore
      </Button>
      <Problem error={restore.error} />
    </>
  );
}
