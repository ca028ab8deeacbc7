import { Button, NativeSelect } from '@mantine/core';
import { useState } from 'react';
import { Link } from 'react-router';
import type { ChangeTest, Test } from '../../../../server/contract/tests.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { NumberField } from '../../parts/NumberField.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';

const kinds = ['pulse', 'capacity', 'rest', 'impedance', 'cycling'] as const;

/** What the record itself does not say, for one test or for many at once; can be undone. Evaluate again afterwards. */
export function ChangeTests({ tests, onDone }: { tests: readonly Test[]; onDone?: () => void }) {
  const [change, setChange] = useState<ChangeTest>({});
  const tell = useNotice();
  const lots = [...new Map(tests.map((t) => [t.lotId, t.lotName]))];
  const save = useAction(
    async (body: ChangeTest) => {
      const changed: Test[] = [];
      for (const test of tests) {
        const given = { params: { id: test.id }, body, version: test.version };
        changed.push(await api.patch('/tests/{id}', given));
      }
      return changed;
    },
    ['/tests'],
    (changed, body) => {
      // What was entered while it was being saved stays.
      setChange((now) => (now === body ? {} : now));
      tell({
        text: say('test.changedChangedEvaluateAgainToUse', {
          changed:
            changed.length === 1
              ? say('test.theTestIs')
              : say('test.changedTestsAre', { changed: changed.length }),
        }),
        undo: () => restore.runAndWait(changed),
      });
      onDone?.();
    },
  );
  const restore = useAction(
    async (changed: readonly Test[]) => {
      for (const test of changed) {
        const before = tests.find((t) => t.id === test.id);
        if (before === undefined) continue;
        await api.patch('/tests/{id}', {
          params: { id: test.id },
          body: knownOf(before),
          version: test.version,
        });
      }
    },
    ['/tests'],
  );
  const number = (
    name: 'startSoc' | 'temperatureC' | 'cycle' | 'fixtureOhm' | 'fixtureUncertaintyOhm',
    by = 1,
  ) => ({
    size: 'xs' as const,
    value: typeof change[name] === 'number' ? Number((change[name] * by).toPrecision(12)) : null,
    error: save.error?.reasonFor(name),
    onChange: (value: number | null) => {
      const { [name]: _, ...rest } = change;
      setChange(value !== null ? { ...rest, [name]: value / by } : rest);
    },
  });
  return (
    <form
      aria-label={say('test.missingDetails')}
      onSubmit={(e) => {
        e.preventDefault();
        save.run(change);
      }}
    >
      <p>{say('test.emptyFieldsKeepTheirValue')}</p>
      <div className="form">
        <NumberField label={say('test.socAtTheStartOfThe')} min={0} max={100} {...number('startSoc', 100)} />
        <NumberField label={say('test.temperatureC')} signed {...number('temperatureC')} />
        <NumberField
          label={say('test.fixtureResistanceToSubtractM')}
          min={0}
          {...number('fixtureOhm', 1000)}
        />
        <NumberField
          label={say('test.itsStandardUncertaintyM')}
          min={0}
          {...number('fixtureUncertaintyOhm', 1000)}
        />
        <NumberField label={say('test.cycle')} min={0} {...number('cycle')} />
        <NativeSelect
          size="xs"
          label={say('test.kindOfTest')}
          value={change.kind ?? ''}
          data={[
            { value: '', label: say('test.asItIs') },
            ...kinds.map((kind) => ({ value: kind, label: plainCode(kind) })),
          ]}
          onChange={(e) => {
            const { kind: _, ...rest } = change;
            const kind = kinds.find((k) => k === e.currentTarget.value);
            setChange(kind === undefined ? rest : { ...rest, kind });
          }}
        />
      </div>
      <Button
        type="submit"
        size="xs"
        loading={save.running}
        disabled={Object.keys(change).length === 0 || tests.length === 0}
      >
        {tests.length === 1
          ? say('test.saveForThisTest')
          : say('test.saveForTheTestsChosenTests', { tests: tests.length })}
      </Button>
      <Problem error={save.error} />
      {save.output !== undefined && (
        <p role="status">
          {say('test.thePresentResultsWereMadeWith')}{' '}
          {lots.map(([id, name], i) => (
            <span key={id}>
              {i > 0 && ', '}
              <Link to={`/lots/${id}`}>{name}</Link>
            </span>
          ))}
          .
        </p>
      )}
    </form>
  );
}

function knownOf(test: Test): ChangeTest {
  const { kind, temperatureC, startSoc, cycle, fixtureOhm, fixtureUncertaintyOhm } = test;
  return { kind, temperatureC, startSoc, cycle, fixtureOhm, fixtureUncertaintyOhm };
}
