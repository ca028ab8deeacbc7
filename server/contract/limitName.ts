/** An ageing limit's name in words: `capacity-80-percent-of-first-measured` is `capacity 80 % of first measured`. */
export function limitWord(name: string): string {
  // The point of `capacity-0.88-Ah` belongs to the number.
  return name.replace(/-percent-/, ' % ').replaceAll('-', ' ');
}
