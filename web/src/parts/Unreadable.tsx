/** What a list does not show because its stored document cannot be read: named, so that nothing is missing unseen. */
export function Unreadable({
  list,
}: {
  list: { readonly unreadable?: readonly { id: number; reason: string }[] } | undefined;
}) {
  if (list?.unreadable === undefined) return null;
  return (
    <div className="problem" role="alert">
      <p className="problem-title">Not shown here, because it cannot be read:</p>
      <ul>
        {list.unreadable.map(({ id, reason }) => (
          <li key={id}>{reason}</li>
        ))}
      </ul>
    </div>
  );
}
