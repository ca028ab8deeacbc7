/** An object with one field, or with none where there is no value. */
export function given<K extends string>(name: K, value: number | null): Partial<Record<K, number>> {
  return value === null ? {} : ({ [name]: value } as Record<K, number>);
}
