import { Button } from '@mantine/core';
import type { RequestError } from '../api/problems.ts';

/** What a request was refused for, beside what caused it, with its fields and rows and the way out. */
export function Problem({ error, again }: { error: RequestError | null; again?: () => void }) {
  if (error === null) return null;
  const entries = error.problem.errors ?? [];
  return (
    <div className="problem" role="alert">
      <p className="problem-title">{error.problem.title}</p>
      {error.problem.detail !== '' && error.problem.detail !== error.problem.title && (
        <p>{error.problem.detail}</p>
      )}
      {entries.length > 0 && (
        <ul>
          {entries.slice(0, 20).map((e) => (
            <li key={`${e.field}/${e.row}/${e.reason}`}>
              {e.row !== null && <strong>Row {e.row}: </strong>}
              {e.field !== null && <code>{e.field}</code>} {e.reason}
              {e.value !== null && <> (found: {e.value})</>}
              {e.expected !== null && <>; right would be: {e.expected}</>}
            </li>
          ))}
        </ul>
      )}
      {entries.length > 20 && <p>and {entries.length - 20} more</p>}
      {again !== undefined && (
        <Button size="xs" variant="default" onClick={again}>
          Try again
        </Button>
      )}
    </div>
  );
}
