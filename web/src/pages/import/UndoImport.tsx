import { Button } from '@mantine/core';
import { useState } from 'react';
import type { ImportConsequences } from '../../../../server/contract/import.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';

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
      tell({ text: say('import.theImportOfNameIsUndone', { name }) });
    },
  );
  if (!asking) {
    return (
      <Button
        size="compact-xs"
        variant="default"
        aria-label={say('import.undoTheImportOfName', { name })}
        onClick={() => setAsking(true)}
      >
        {say('import.undo')}
      </Button>
    );
  }
  return (
    <section aria-label={say('import.undoTheImportOfName', { name })}>
      <Problem error={touched.error ?? undo.error} again={touched.again} />
      {touched.data !== undefined && <Consequences of={touched.data} />}
      <Button size="compact-xs" loading={undo.running} onClick={() => undo.run(undefined)}>
        {say('import.undoImport')}
      </Button>{' '}
      <Button size="compact-xs" variant="default" onClick={() => setAsking(false)}>
        {say('import.cancel')}
      </Button>
    </section>
  );
}

function Consequences({ of }: { of: ImportConsequences }) {
  const named = (what: string, things: readonly { name: string }[]) =>
    things.length === 0 ? [] : [`${what}: ${listed(things.map((t) => t.name))}`];
  const depends = [
    ...named(say('import.pairings'), of.pairings),
    ...named(say('import.stacks'), of.stacks),
    ...named(say('import.chargeStudies'), of.chargeStudies),
    ...(of.exports > 0 ? [say('import.exportsExports', { exports: of.exports })] : []),
  ];
  return (
    <>
      <p>
        {say('import.testsWordAndMeasurementsValuesNo', {
          tests: of.tests,
          word: of.tests === 1 ? say('import.test') : say('import.tests'),
          measurements: of.measurements,
        })}
        {of.cellsRemoved.length > 0 &&
          say('import.removedBecauseNothingElseDependsOn', { cellsRemoved: listed(of.cellsRemoved) })}
      </p>
      {depends.length > 0 && (
        <p className="warning">{say('import.madeFromTheseCellsAndNo', { depends: depends.join('; ') })}</p>
      )}
      <p>
        {of.cellsRemoved.length > 0
          ? say('import.toTakeThisBackImportThe')
          : say('import.thisCanBeTakenBackFor')}
      </p>
    </>
  );
}

function listed(names: readonly string[]): string {
  return names.length > 6
    ? say('import.namesAndNames2More', { names: names.slice(0, 6).join(', '), names2: names.length - 6 })
    : names.join(', ');
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
        aria-label={say('import.restoreTheImportOfName', { name })}
        onClick={() => restore.run(undefined)}
      >
        {say('import.restore')}
      </Button>
      <Problem error={restore.error} />
    </>
  );
}
