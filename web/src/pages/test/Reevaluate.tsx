import { Button, Checkbox, TextInput } from '@mantine/core';
import { useState } from 'react';
import type { Evaluation, EvaluationSettings, FitHead, Test } from '../../../../server/contract/tests.ts';
import { api } from '../../api/ApiClient.ts';
import { RequestError } from '../../api/problems.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { numbersApart, readNumber } from '../../format/readNumber.ts';
import { NumberField } from '../../parts/NumberField.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { ImpedanceFields } from './ImpedanceFields.tsx';
import { changedFigures, type FigureChange } from './keyFigures.ts';

interface ReevaluateProps {
  readonly test: Test;
  readonly evaluation: Evaluation | null;
}

/** Evaluates the test, with other settings where wanted, and shows what changed against the evaluation before. */
export function Reevaluate({ test, evaluation }: ReevaluateProps) {
  const [open, setOpen] = useState(false);
  const [settings, setSettings] = useState<EvaluationSettings>({});
  const history = useRequest('/tests/{id}/evaluations', { params: { id: test.id } });
  const [changes, setChanges] = useState<readonly FigureChange[] | null>(null);
  const evaluate = useAction(
    async (wanted: EvaluationSettings) => {
      const params = { id: test.id };
      const before = evaluation ?? (test.evaluatedAt === null ? null : await shownBefore(test.id));
      return { before, after: await api.post('/tests/{id}/evaluate', { params, body: wanted }) };
    },
    [`/tests/${test.id}`, '/lots', '/cells', '/tests'],
    ({ before, after }) =>
      setChanges(before === null ? null : changedFigures(before.evaluation, after.evaluation)),
  );
  const count = history.data?.items.length ?? 0;
  return (
    <section aria-label={say('test.settingsOfTheEvaluation')} className="not-print">
      <div className="actions">
        {test.evaluatedAt === null && (
          <Button loading={evaluate.running} onClick={() => evaluate.run({})}>
            {say('test.evaluate')}
          </Button>
        )}
        <Button variant="default" aria-expanded={open} onClick={() => setOpen(!open)}>
          {test.evaluatedAt === null ? say('test.withSettings') : say('test.evaluateAgainWithOtherSettings')}
        </Button>
      </div>
      {open && (
        <form
          onSubmit={(e) => {
            e.preventDefault();
            evaluate.run(settings);
          }}
        >
          <SettingFields test={test} settings={settings} onChange={setSettings} />
          <Button type="submit" loading={evaluate.running}>
            {say('test.evaluateWithThese')}
          </Button>
        </form>
      )}
      <Problem error={evaluate.error} />
      {changes !== null && <Changes changes={changes} />}
      {count > 1 && (
        <p>
          {say('test.evaluationsSoFarTheSupersededOnes', { countValue: count })}
          {changes === null && evaluation !== null && history.data !== undefined && (
            <CompareWithEarlier
              evaluation={evaluation}
              earlier={history.data.items[1]}
              onChanges={setChanges}
            />
          )}
        </p>
      )}
    </section>
  );
}

/** The evaluation that stands, asked for where the page does not have it yet; null where it cannot be read, as the page says. */
async function shownBefore(id: number): Promise<Evaluation | null> {
  try {
    return await api.get('/tests/{id}/evaluation', { params: { id } });
  } catch (error) {
    if (error instanceof RequestError) return null;
    throw error;
  }
}

interface CompareProps {
  readonly evaluation: Evaluation;
  readonly earlier: FitHead;
  readonly onChanges: (changes: readonly FigureChange[]) => void;
}

function CompareWithEarlier({ evaluation, earlier, onChanges }: CompareProps) {
  const compare = useAction(
    () => api.get('/fits/{id}', { params: { id: earlier.id } }),
    [],
    (before) => onChanges(changedFigures(before.evaluation, evaluation.evaluation)),
  );
  return (
    <>
      {' '}
      <Button
        size="compact-xs"
        variant="default"
        loading={compare.running}
        onClick={() => compare.run(undefined)}
      >
        {say('test.compareWithTheOneBefore')}
      </Button>
      <Problem error={compare.error} />
    </>
  );
}

function SettingFields(props: {
  readonly test: Test;
  readonly settings: EvaluationSettings;
  readonly onChange: (settings: EvaluationSettings) => void;
}) {
  const { test, settings, onChange } = props;
  const [durations, setDurations] = useState('');
  const number = (
    name: 'startSoc' | 'maxBranches' | 'cutoffVoltageV' | 'ratedCapacityAh' | 'cellCapacityAh',
    by = 1,
  ) => ({
    value: settings[name] === undefined ? null : Number((settings[name] * by).toPrecision(12)),
    onChange: (value: number | null) => {
      const { [name]: _, ...rest } = settings;
      onChange(value !== null ? { ...rest, [name]: value / by } : rest);
    },
  });
  return (
    <div className="form">
      {test.kind === 'pulse' && (
        <>
          <NumberField
            label={say('test.socAtTheStart')}
            description={say('test.ofTheRecordEmptyAsStated')}
            min={0}
            max={100}
            {...number('startSoc', 100)}
          />
          <NumberField
            label={say('test.mostBranchesOfTheCircuit')}
            description={say('test.n0To3EmptyChosenBy')}
            min={0}
            max={3}
            {...number('maxBranches')}
          />
          <TextInput
            label={say('test.durationsS')}
            description={say('test.withCommasBetweenEmptyTheUsual')}
            value={durations}
            onChange={(e) => {
              setDurations(e.currentTarget.value);
              const wanted = numbersApart(e.currentTarget.value).flatMap(
                (part) => readNumber(part).value ?? [],
              );
              const { durationsS: _, ...rest } = settings;
              onChange(wanted.length === 0 ? rest : { ...rest, durationsS: wanted });
            }}
          />
        </>
      )}
      {test.runsOfFile > 1 && test.record !== null && (
        <TogetherFields test={test} settings={settings} onChange={onChange} />
      )}
      {test.kind === 'impedance' && <ImpedanceFields settings={settings} onChange={onChange} />}
      {test.kind !== 'pulse' && test.kind !== 'impedance' && (
        <NumberField
          label={say('test.cutOffVoltageV')}
          description={say('test.emptyTheCellTypeS')}
          min={0}
          max={10}
          {...number('cutoffVoltageV')}
        />
      )}
      <NumberField
        label={say('test.ratedCapacityAh')}
        description={say('test.emptyTheCellTypeS')}
        min={0}
        {...number('ratedCapacityAh')}
      />
      {(test.kind === 'pulse' || test.kind === 'impedance') && (
        <NumberField
          label={say('test.ownCapacityAh')}
          description={say('test.ownCapacityHelp')}
          min={0}
          {...number('cellCapacityAh')}
        />
      )}
    </div>
  );
}

/** Whether the runs of the test's file and cell are evaluated as one record, and what lies between them. */
function TogetherFields({
  test,
  settings,
  onChange,
}: {
  readonly test: Test;
  readonly settings: EvaluationSettings;
  readonly onChange: (settings: EvaluationSettings) => void;
}) {
  const together = settings.together ?? test.evaluatedWithId !== null;
  return (
    <>
      <Checkbox
        label={say('test.asOneRecordWithTheOtherRuns', { runs: test.runsOfFile })}
        checked={together}
        onChange={(e) => onChange({ ...settings, together: e.currentTarget.checked })}
      />
      {together && test.startedAt === null && (
        <NumberField
          label={say('test.timeBetweenRunsS')}
          description={say('test.fromTheLastRowOfARun')}
          min={0}
          value={settings.runGapS ?? null}
          onChange={(value) => {
            const { runGapS: _, ...rest } = settings;
            onChange(value === null ? rest : { ...rest, runGapS: value });
          }}
        />
      )}
    </>
  );
}

function Changes({ changes }: { changes: readonly FigureChange[] }) {
  const [units] = useUnits();
  const show = (value: number | null, unit: string) => quantity(value, unit, units, 5);
  if (changes.length === 0) return <p role="status">{say('test.evaluatedEveryFigureIsTheSame')}</p>;
  return (
    <>
      <h3>{say('test.beforeAndAfter')}</h3>
      <Sheet
        label={say('test.beforeAndAfter')}
        head={[say('test.figure'), say('test.before'), say('test.after'), say('test.change')]}
        numeric={[1, 2, 3]}
        rows={changes.map((c) => [
          c.name,
          show(c.before, c.unit),
          show(c.after, c.unit),
          c.before === null || c.after === null || c.before === 0
            ? '–'
            : `${significant((100 * (c.after - c.before)) / Math.abs(c.before), 2)} %`,
        ])}
      />
    </>
  );
}
