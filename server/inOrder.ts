/** Does `work` for one item after the other, in their order, and gives what came of each. */
export async function inOrder<Item, Result>(
  items: Iterable<Item>,
  work: (item: Item, index: number) => Promise<Result> | Result,
): Promise<Result[]> {
  const results: Result[] = [];
  let index = 0;
  for (const item of items) results.push(await work(item, index++));
  return results;
}
