/** Why parameters cannot be written in a format. */
export type ExportRefusalCode =
  | 'wrong-subject'
  | 'no-circuit-fit'
  | 'no-open-circuit'
  | 'no-capacity'
  | 'too-few-soc'
  | 'soc-not-ascending'
  | 'number-missing'
  | 'parameter-out-of-range'
  | 'does-not-fit-fixed-point'
  | 'no-series'
  | 'no-record'
  | 'not-in-circuit';

/**
 * A format was asked for that these parameters cannot be written in. Nothing is written: a file with a hole or a
 * negative resistance would be read by another tool without a word.
 */
export class ExportRefused extends Error {
  readonly code: ExportRefusalCode;
  /** Path of the parameter, e.g. `cell "A1": r1 at SOC 0.05`. */
  readonly field: string;
  /** The offending value as text, or null where something is missing. */
  readonly value: string | null;
  /** What would be right. */
  readonly expected: string;

  constructor(code: ExportRefusalCode, field: string, value: string | null, expected: string) {
    super(`${field}: ${value === null ? 'missing' : value}; ${expected}`);
    this.name = 'ExportRefused';
    this.code = code;
    this.field = field;
    this.value = value;
    this.expected = expected;
  }
}
