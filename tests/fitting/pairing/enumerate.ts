/** Most pairs, and the least total among matchings with that many, by looking at every matching of up to 20 cells. */
export function enumerateBest(count: number, table: ArrayLike<number>): { pairs: number; total: number } {
  const known = new Map<number, { pairs: number; total: number }>();
  const best = (used: number): { pairs: number; total: number } => {
    if (used === 2 ** count - 1) return { pairs: 0, total: 0 };
    const before = known.get(used);
    if (before) return before;
    let a = 0;
    while ((used >> a) & 1) a++;
    let found = best(used | (1 << a));
    for (let b = a + 1; b < count; b++) {
      const cost = table[a * count + b];
      if ((used >> b) & 1 || cost === Infinity) continue;
      const rest = best(used | (1 << a) | (1 << b));
      const pairs = rest.pairs + 1;
      const total = rest.total + cost;
      if (pairs > found.pairs || (pairs === found.pairs && total < found.total)) found = { pairs, total };
    }
    known.set(used, found);
    return found;
  };
  return best(0);
}

/** A symmetric table filled by `cost` for every a < b; the diagonal is 0. */
export function fillTable(count: number, cost: (a: number, b: number) => number): Float64Array {
  const table = new Float64Array(count * count);
  for (let a = 0; a < count; a++)
    for (let b = a + 1; b < count; b++) table[a * count + b] = table[b * count + a] = cost(a, b);
  return table;
}
