/** An object with one field, or with none where there is no value. */
export function given<K extends string, V>(name: K, value: V | null): Partial<Record<K, V>> {
  return value === null ? {} : ({ [name]: value } as Record<K, V>);
}
