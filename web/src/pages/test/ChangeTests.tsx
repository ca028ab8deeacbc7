import { Button, NativeSelect } from '@mantine/core';
import { useState } from 'react';
import { Link } from 'react-router';
import type { ChangeTest, Test } from '../../../../server/contract/tests.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { NumberField } from '../../parts/NumberField.tsx';
import { Problem } from '../../parts/Problem.tsx';

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
    (changed) => {
      tell({
        text: `${changed.length === 1 ? 'The test is' : `${changed.length} tests are`} changed. Evaluate again to use it.`,
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
      aria-label="Missing details"
      onSubmit={(e) => {
        e.preventDefault();
        save.run(change);
      }}
    >
      <p>Empty fields keep their value.</p>
      <div className="form">
        <NumberField
          label="SOC at the start of the record, %"
          min={0}
          max={100}
          {...number('startSoc', 100)}
        />
        <NumberField label="Temperature, °C" signed {...number('temperatureC')} />
        <NumberField label="Fixture resistance to subtract, mΩ" min={0} {...number('fixtureOhm', 1000)} />
        <NumberField
          label="its standard uncertainty, mΩ"
          min={0}
          {...number('fixtureUncertaintyOhm', 1000)}
        />
        <NumberField label="Cycle" min={0} {...number('cycle')} />
        <NativeSelect
          size="xs"
          label="Kind of test"
          value={change.kind ?? ''}
          data={[{ value: '', label: 'as it is' }, ...kinds]}
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
        {tests.length === 1 ? 'Save for this test' : `Save for the ${tests.length} chosen tests`}
      </Button>
      <Problem error={save.error} />
      {save.output !== undefined && (
        <p role="status">
          The present results were made with the earlier details. Evaluate again in{' '}
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
