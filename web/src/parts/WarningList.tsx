import { say } from '../words/i18n.ts';
import { Said } from './Said.tsx';

interface WarningListProps {
  readonly warnings: readonly { readonly code: string; readonly message: string }[];
}

/** Of one kind so many are shown; the rest opens at a press. */
const shownOfKind = 2;

/** Warnings, those of one kind together: a record with many gaps must not push everything else off the screen. */
export function WarningList({ warnings }: WarningListProps) {
  const kinds = [...new Set(warnings.map((w) => w.code))];
  return (
    <>
      {kinds.map((code) => {
        const messages = warnings.filter((w) => w.code === code).map((w) => w.message);
        const rest = messages.length > shownOfKind + 1 ? messages.slice(shownOfKind) : [];
        return (
          <div key={code}>
            <Sentences messages={rest.length === 0 ? messages : messages.slice(0, shownOfKind)} />
            {rest.length > 0 && (
              <details>
                <summary>{say('general.andRestMoreOfThisKind', { rest: rest.length })}</summary>
                <Sentences messages={rest} />
              </details>
            )}
          </div>
        );
      })}
    </>
  );
}

function Sentences({ messages }: { messages: readonly string[] }) {
  return messages.map((message, i) => (
    // biome-ignore lint/suspicious/noArrayIndexKey: the same sentence may come twice, and has no identity but its place
    <p key={i} className="warning">
      <Said text={message} />
    </p>
  ));
}
