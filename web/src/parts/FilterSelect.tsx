import { NativeSelect } from '@mantine/core';
import { useRequest } from '../api/useRequest.ts';
import { say } from '../words/i18n.ts';
import { useUrlState } from './useUrlState.ts';

interface FilterSelectProps {
  /** Its name in the address. */
  readonly name: string;
  readonly label: string;
  /** What no choice is called: `every lot`. */
  readonly all: string;
  readonly options: readonly (string | { readonly value: string; readonly label: string })[];
}

/** A filter of a list, kept in the address. */
export function FilterSelect({ name, label, all, options }: FilterSelectProps) {
  const [value, setValue] = useUrlState(name);
  return (
    <NativeSelect
      size="xs"
      label={label}
      value={value}
      data={[{ value: '', label: all }, ...options]}
      onChange={(e) => setValue(e.currentTarget.value)}
    />
  );
}

/** Which lot the things of a list belong to. */
export function LotFilter() {
  const lots = useRequest('/lots', { query: { limit: 500 } });
  const options = lots.data?.items.map((l) => ({ value: String(l.id), label: l.name })) ?? [];
  return (
    <FilterSelect name="lotId" label={say('general.lot')} all={say('general.everyLot')} options={options} />
  );
}
