import type { ParameterValue } from '../contract/parameterSet.ts';
import { ExportRefused } from './refusal.ts';

/** The number of a parameter that a file cannot do without. @throws ExportRefused where it is missing or not finite */
export function need(
  value: ParameterValue,
  field: string,
  code: 'number-missing' | 'no-capacity' | 'no-open-circuit',
): number {
  if (value.value === null)
    throw new ExportRefused(code, field, null, `it is needed here and was not given (${value.reason})`);
  if (!Number.isFinite(value.value))
    throw new ExportRefused(
      'parameter-out-of-range',
      field,
      String(value.value),
      'a finite number is needed',
    );
  return value.value;
}

/** @throws ExportRefused for a value of 0 or below */
export function requirePositive(value: number, field: string): void {
  if (!(value > 0))
    throw new ExportRefused(
      'parameter-out-of-range',
      field,
      String(value),
      'it must be above zero to be physical',
    );
}

/** The field with its value, or nothing where there is none. */
export function optional<K extends string>(key: K, value: number | null): Partial<Record<K, number>> {
  return value === null ? {} : ({ [key]: value } as Record<K, number>);
}
