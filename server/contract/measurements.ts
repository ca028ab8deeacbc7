import { z } from 'zod';
import { id, instant, pageOf, pageQuery } from './common.ts';

/**
 * What a measurement can be of. A resistance carries the duration it belongs to; `impedance-1khz` is |Z| at 1 kHz;
 * `rdc` is the two-level DC resistance of IEC 61960-3; `drift` is the change of the open-circuit voltage per day.
 */
export const quantityName = z.enum([
  'capacity',
  'charge-capacity',
  'energy',
  'charge-energy',
  'coulombic-efficiency',
  'energy-efficiency',
  'resistance',
  'rdc',
  'impedance-1khz',
  'r0',
  'r1',
  'tau1',
  'r2',
  'tau2',
  'r3',
  'tau3',
  'ocv',
  'drift',
  'leakage-current',
  'mass',
  'thickness',
  'charge-time',
  'temperature-max',
  'fade-rate',
  'resistance-rise-rate',
  'end-of-life',
  'other',
]);

/**
 * What a pulse's value may hold under that its record cannot tell: when the current changed, what earlier currents still do,
 * how much of a slow branch is the change of the open-circuit voltage with charge, and what settles between two rows.
 */
export const conditions = ['edge-moment', 'earlier-current', 'ocv-slope', 'sampling'] as const;

/** Whether a measurement is left out of comparisons because it holds only under such a condition. */
export function isConditional(reason: string | null): boolean {
  return (conditions as readonly (string | null)[]).includes(reason);
}

/** One quantity of one cell, with the condition it belongs to and where it came from. */
export const measurement = z.object({
  id,
  cellId: id,
  quantity: quantityName,
  value: z.number().nullable(),
  unit: z.string(),
  standardUncertainty: z.number().nullable(),
  reason: z.string().nullable(),
  soc: z.number().nullable(),
  temperatureC: z.number().nullable(),
  direction: z.enum(['charge', 'discharge']).nullable(),
  durationS: z.number().nullable(),
  currentA: z.number().nullable(),
  cycle: z.number().nullable(),
  efc: z.number().nullable(),
  method: z.string(),
  excludedReason: z.string().nullable(),
  measuredAt: z.string().nullable(),
  createdAt: instant,
  supersededAt: instant.nullable(),
  testId: id.nullable(),
  fitId: id.nullable(),
  sourceFileId: id.nullable(),
  sourceRow: z.int().nullable(),
});

/**
 * A comparable column of a lot: one quantity at one condition. `key` is stable and readable, e.g.
 * `resistance/10s/discharge/soc50`; SOC is rounded to 5 %.
 */
export const measurementColumn = z.object({
  key: z.string(),
  quantity: quantityName,
  unit: z.string(),
  durationS: z.number().nullable(),
  direction: z.enum(['charge', 'discharge']).nullable(),
  soc: z.number().nullable(),
  /** Rounded to 5 °C. */
  temperatureC: z.number().nullable(),
  method: z.string().nullable(),
  /** How many cells of the lot have a value. */
  cellCount: z.int(),
});

export const measurementQuery = pageQuery.extend({
  quantity: quantityName.optional(),
  includeSuperseded: z.stringbool().default(false),
});
/** Null lets a measurement count; a reason leaves it out. */
export const changeMeasurement = z.object({ excludedReason: z.string().min(1).max(400).nullable() });
export type ChangeMeasurement = z.infer<typeof changeMeasurement>;
export const measurementPage = pageOf(measurement);

/** From a number back to its origin: measurement, fit, test, rows of the record, file, who and when. */
export const provenance = z.object({
  measurement,
  fit: z
    .object({
      id,
      kind: z.string(),
      algorithm: z.string(),
      algorithmVersion: z.string(),
      createdAt: instant,
      createdBy: z.string(),
    })
    .nullable(),
  test: z.object({ id, kind: z.string(), label: z.string(), startedAt: z.string().nullable() }).nullable(),
  cell: z.object({ id, serial: z.string(), lotId: id, lotName: z.string() }),
  sourceFile: z
    .object({
      id,
      name: z.string(),
      sha256: z.string(),
      importedAt: instant,
      importedBy: z.string(),
      firstRow: z.int().nullable(),
      lastRow: z.int().nullable(),
    })
    .nullable(),
});

export type QuantityName = z.infer<typeof quantityName>;
export type Measurement = z.infer<typeof measurement>;
export type MeasurementColumn = z.infer<typeof measurementColumn>;
export type Provenance = z.infer<typeof provenance>;
