import { say } from '../words/i18n.ts';

/** What a list does not show because its stored document cannot be read: named, so that nothing is missing unseen. */
export function Unreadable({
  list,
}: {
  list: { readonly unreadable?: readonly { id: number; reason: string }[] } | undefined;
}) {
  if (list?.unreadable === undefined) return null;
  return (
    <div className="problem" role="alert">
      <p className="problem-title">{say('general.notShownBecauseUnreadable')}</p>
      <ul>
        {list.unreadable.map(({ id, reason }) => (
          <li key={id}>{reason}</li>
        ))}
      </ul>
    </div>
  );
}
