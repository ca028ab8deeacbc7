import { Button } from '@mantine/core';
import { useEffect } from 'react';
import type { RequestError } from '../api/problems.ts';
import { fieldWords } from '../words/fields.ts';
import { say } from '../words/i18n.ts';
import { problemTitle } from '../words/problems.ts';
import { sentenceWords } from '../words/sentences.ts';
import { EnglishWords } from './EnglishWords.tsx';

/** What a request was refused for, beside what caused it, with its fields and rows and the way out. */
export function Problem({ error, again }: { error: RequestError | null; again?: () => void }) {
  // Where the thing of a page is not there, nothing else gives the page its title.
  const missing = error?.status === 404 ? problemTitle(error.problem) : null;
  useEffect(() => {
    if (missing !== null && document.querySelector('main h1') === null)
      document.title = say('general.titleGemel', { title: missing });
  }, [missing]);
  if (error === null) return null;
  if (error.problem.code === 'version-changed') return <ChangedMeanwhile />;
  // Of a thing that is not there, its name says all.
  const entries = error.status === 404 ? [] : (error.problem.errors ?? []);
  const { detail } = error.problem;
  const title = problemTitle(error.problem);
  return (
    <div className="problem" role="alert">
      <p className="problem-title">{title}</p>
      {detail !== '' && detail !== title && <Detail text={detail} isOurs={error.status === 0} />}
      {entries.length > 0 && (
        <ul>
          {entries.slice(0, 20).map((e) => (
            <li key={`${e.field}/${e.row}/${e.reason}`}>
              {e.row !== null && <strong>{say('general.rowRow', { row: e.row })} </strong>}
              {e.field !== null && <strong>{fieldWords(e.field)}:</strong>}{' '}
              <Reason reason={e.reason} expected={e.expected} value={e.value} />
            </li>
          ))}
        </ul>
      )}
      {entries.length > 20 && <p>{say('general.andEntriesMore', { entries: entries.length - 20 })}</p>}
      {again !== undefined && (
        <Button size="xs" variant="default" onClick={again}>
          {say('general.tryAgain')}
        </Button>
      )}
    </div>
  );
}

/** @param isOurs the page wrote it, and in the reader's language */
function Detail({ text, isOurs }: { readonly text: string; readonly isOurs: boolean }) {
  const told = isOurs ? text : sentenceWords(text);
  return told === null ? <EnglishWords text={text} /> : <p>{told}</p>;
}

interface ReasonProps {
  readonly reason: string;
  readonly expected: string | null;
  readonly value: string | null;
}

/** What is wrong with a field; the service's exact words open where they have no others in the reader's language. */
function Reason({ reason, expected, value }: ReasonProps) {
  const told = sentenceWords(reason);
  const right = expected === null ? null : sentenceWords(expected);
  return (
    <>
      {told ?? say('general.thisValueIsNotPossible')}
      {value !== null && <> {say('general.foundValue', { value })}</>}
      {right !== null && say('general.expectedExpected', { expected: right })}
      {(told === null || (expected !== null && right === null)) && (
        <EnglishWords text={[reason, expected].filter(Boolean).join('. ')} />
      )}
    </>
  );
}

/** The page has asked for the present state by itself when this is shown. */
function ChangedMeanwhile() {
  return (
    <div className="problem" role="alert">
      <p className="problem-title">{say('general.someoneElseChangedThisInThe')}</p>
      <p>{say('general.thePageNowShowsThePresent')}</p>
    </div>
  );
}
