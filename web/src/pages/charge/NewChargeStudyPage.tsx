import { Button, NativeSelect, TextInput } from '@mantine/core';
import { useMemo, useState } from 'react';
import { Link, useNavigate } from 'react-router';
import type { ChargeStudyDraft } from '../../../../server/contract/chargeStudies.ts';
import { api } from '../../api/ApiClient.ts';
import type { At, Given } from '../../api/endpointTypes.ts';
import { useAction } from '../../api/useAction.ts';
import { useQuestion, useRequest } from '../../api/useRequest.ts';
import { Empty } from '../../parts/Empty.tsx';
import { idsOfRanges } from '../../parts/idRanges.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { useDelayed } from '../../parts/useDelayed.ts';
import { useUrlState } from '../../parts/useUrlState.ts';
import { Waiting } from '../../parts/Waiting.tsx';
import { say } from '../../words/i18n.ts';
import { noteWords } from '../../words/studyNotes.ts';
import { describeStudy } from './describeStudy.ts';
import { FromStudy } from './FromStudy.tsx';
import { InShort } from './InShort.tsx';
import { inputGaps } from './inputGaps.ts';
import { PickedParts, pickedNames } from './PickedParts.tsx';
import { StudyNote } from './StudyAsked.tsx';
import { StudyFields } from './StudyFields.tsx';
import { StudyResult } from './StudyResult.tsx';
import { inputsOfText, inputsText } from './studyInputs.ts';
import { unreadableFields } from './unreadableFields.ts';

export default function NewChargeStudyPage() {
  const [stack, setStack] = useUrlState('stack');
  const [cells] = useUrlState('cells');
  const [from] = useUrlState('from');
  const stacks = useRequest('/stacks', { query: { limit: 500 } });
  const cellIds = useMemo(() => idsOfRanges(cells), [cells]);
  const subject = stack !== '' ? { stackId: Number(stack) } : cellIds.length > 0 ? { cellIds } : null;
  const [source, setSource] = useUrlState('source');
  const [cable, setCable] = useUrlState('cable');
  const [converter, setConverter] = useUrlState('converter');
  const picked = { source, cable, converter };
  const [text] = useUrlState('inputs');
  const withLife = inputsOfText(text).withLife;
  const draft = useQuestion(
    '/charge-studies/draft',
    subject === null ? null : { ...subject, ...(withLife ? { withLife } : {}), ...pickedNames(picked) },
  );
  return (
    <>
      <PageHead
        title={say('charge.newChargeStudy')}
        within={[{ name: say('charge.chargeStudies'), path: '/charge-studies' }]}
        about={say('charge.theChargeIsComputedFromThe')}
      />
      <NativeSelect
        maw={360}
        label={say('charge.chargeTheStack')}
        value={stack}
        data={[
          {
            value: '',
            label:
              cellIds.length > 0
                ? say('charge.chosenCells', { cellIds: cellIds.length })
                : say('charge.choose'),
          },
          ...(stacks.data?.items.map((s) => ({
            value: String(s.id),
            label: `${s.name} (${s.cells.map((c) => c.serial).join(' + ')})`,
          })) ?? []),
        ]}
        onChange={(e) => setStack(e.currentTarget.value)}
      />
      <PickedParts
        picked={picked}
        onPick={(next) => {
          if (next.source !== source) setSource(next.source);
          if (next.cable !== cable) setCable(next.cable);
          if (next.converter !== converter) setConverter(next.converter);
        }}
      />
      {subject === null && (
        <Empty title={say('charge.whatIsToBeCharged')}>
          <p>
            {say('charge.chooseAStackAboveOrBegin')} <Link to="/cells">{say('charge.cell')}</Link>
            {say('charge.aStackIsPlannedFromAn')} <Link to="/pairings">{say('charge.pairing')}</Link>.
          </p>
        </Empty>
      )}
      <Problem error={draft.error} again={draft.again} />
      {draft.loading && <Waiting />}
      {draft.data !== undefined && from !== '' && <FromStudy id={from} draft={draft.data.description} />}
      {draft.data !== undefined && subject !== null && <Study draft={draft.data} subject={subject} />}
    </>
  );
}

interface StudyProps {
  readonly draft: ChargeStudyDraft;
  readonly subject: { readonly stackId: number } | { readonly cellIds: number[] };
}

function Study({ draft, subject }: StudyProps) {
  const [text, setText] = useUrlState('inputs');
  const inputs = useMemo(() => inputsOfText(text), [text]);
  const usual = draft.description.cells.map((c) => c.name).join(' + ');
  const [name, setName] = useState('');
  const live = useDelayed(text, 350);
  const question = useMemo(() => {
    const shown = inputsOfText(live);
    return inputGaps(shown).length > 0
      ? null
      : { description: describeStudy(draft.description, shown, true) };
  }, [draft, live]);
  const [unreadable, setUnreadable] = useState<readonly string[]>([]);
  const gaps = [...inputGaps(inputs), ...unreadable];
  const computed = useQuestion('/charge-studies/compute', question);
  const go = useNavigate();
  const keep = useAction(
    (study: Given<At<'POST', '/charge-studies'>>['body'], key) =>
      api.post('/charge-studies', { body: study, idempotencyKey: key }),
    ['/charge-studies'],
    (study) => void go(`/charge-studies/${study.id}`),
  );
  const limit = inputs.cellVoltageLimitV ?? draft.description.cells[0].datasheet.maxVoltageV;
  return (
    <>
      {computed.data === undefined &&
        noteWords(draft.notes).map((note) => <StudyNote key={note.text} note={note} />)}
      <div className="beside">
        <form
          // What stands in a field and is not a number counts as nothing there: the study waits until it is.
          onInput={(e) => {
            const form = e.currentTarget;
            requestAnimationFrame(() => setUnreadable(unreadableFields(form)));
          }}
          onSubmit={(e) => {
            e.preventDefault();
            keep.run({
              name: name.trim() === '' ? usual : name.trim(),
              description: describeStudy(draft.description, inputs, false),
              ...subject,
            });
          }}
        >
          <StudyFields
            inputs={inputs}
            cellNames={draft.description.cells.map((cell) => cell.name)}
            onChange={(next) => setText(inputsText(next))}
          />
          <TextInput
            size="xs"
            label={say('charge.nameOfTheStudy')}
            placeholder={usual}
            value={name}
            onChange={(e) => setName(e.currentTarget.value)}
          />
          <div className="at-hand">
            {computed.data !== undefined && computed.error === null && <InShort result={computed.data} />}
            {gaps.map((gap) => (
              <p key={gap} className="problem" role="status">
                {gap}
              </p>
            ))}
            <Button type="submit" mt={8} loading={keep.running} disabled={gaps.length > 0}>
              {say('charge.keepTheStudyAndAnswerAll')}
            </Button>
          </div>
          <Problem error={keep.error} />
        </form>
        <div id="result" tabIndex={-1} aria-busy={computed.fetching}>
          <Problem error={computed.error} />
          {computed.loading && <Waiting what={say('charge.computing')} />}
          {computed.data !== undefined && computed.error === null && gaps.length === 0 && (
            <StudyResult result={computed.data} name={usual} voltageLimitV={limit} />
          )}
        </div>
      </div>
    </>
  );
}
