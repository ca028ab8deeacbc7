/**
 * Notes that begin with the name of a cell, `QM018: …`, said once for all cells they are said of: `QM018, QM034: …`.
 * Others stay as they are.
 */
export function notesOfCells(messages: readonly string[]): string[] {
  const cells = new Map<string, string[]>();
  for (const message of messages) {
    const match = /^([^\s:]+): (.+)$/.exec(message);
    const said = match === null ? message : match[2];
    const named = cells.get(said) ?? [];
    cells.set(said, match === null ? named : [...named, match[1]]);
  }
  return [...cells].map(([said, named]) => (named.length === 0 ? said : `${named.join(', ')}: ${said}`));
}
