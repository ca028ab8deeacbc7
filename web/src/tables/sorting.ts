import type { SortingState } from '@tanstack/react-table';

/** `capacity` or `-capacity`, as in the address. */
export function sortingOf(text: string): SortingState {
  if (text === '') return [];
  return [text.startsWith('-') ? { id: text.slice(1), desc: true } : { id: text, desc: false }];
}

/** The first sorting as text for the address. */
export function sortingText(sorting: SortingState): string {
  const [first] = sorting;
  return first === undefined ? '' : `${first.desc ? '-' : ''}${first.id}`;
}
