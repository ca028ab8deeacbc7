import { z } from 'zod';
import { id } from './common.ts';
import { direction } from './evaluatedPulse.ts';

/** The parameters of the circuit model that a table holds, each with its unit in its name. */
export const circuitParameter = z.enum([
  'ocvV',
  'r0Ohm',
  'r1Ohm',
  'tau1S',
  'r2Ohm',
  'tau2S',
  'r3Ohm',
  'tau3S',
]);

/**
 * A number read from a table. `inside`: between measured conditions; `outside-…`: the nearest measured edge is held;
 * `hole`: null, because a measured condition next to it lacks the parameter.
 */
export const cellTableValue = z.object({
  value: z.number().nullable(),
  flag: z.enum(['inside', 'outside-soc', 'outside-temperature', 'outside-both', 'hole']),
});

/** The parameters of a cell over SOC and temperature, from the valid evaluations of its pulse tests. */
export const cellTables = z.object({
  cellId: id,
  tables: z.array(
    z.object({
      direction,
      /** Measured conditions, ascending; readings within 0.02 of SOC and 2.5 °C stand together. */
      measuredSoc: z.array(z.number()),
      measuredTemperatureC: z.array(z.number()),
      /** The values at every measured SOC and temperature, null where that condition lacks the parameter. */
      measured: z.array(
        z.object({
          temperatureC: z.number(),
          soc: z.number(),
          values: z.record(circuitParameter, z.number().nullable()),
        }),
      ),
      /** The evaluations the table is based on. */
      origins: z.array(z.object({ testId: id, fitId: id, temperatureC: z.number() })),
      /** One row for each temperature and SOC, in that order. */
      rows: z.array(
        z.object({
          temperatureC: z.number(),
          soc: z.number(),
          values: z.record(circuitParameter, cellTableValue),
        }),
      ),
    }),
  ),
  /**
   * Evaluated tests that do not enter: another at the same temperature is newer, or older but reaches far more states of
   * charge, or the temperature is not stated.
   */
  leftOut: z.array(
    z.object({
      testId: id,
      direction,
      reason: z.enum(['newer-test', 'fewer-states', 'temperature-not-stated']),
    }),
  ),
  /** Why there is no table: `no-fitted-pulses` with a known state of charge. */
  reason: z.enum(['no-fitted-pulses', 'temperature-not-stated']).nullable(),
});

export const cellTablesQuery = z.object({
  /** Distance of the rows in SOC, from 0 to 1. */
  socStep: z.coerce.number().min(0.01).max(0.5).default(0.05),
  /** Temperatures of the rows in °C, comma-separated; those measured where left out. */
  temperaturesC: z
    .string()
    .max(400)
    .regex(/^\s*-?\d+(\.\d+)?(\s*,\s*-?\d+(\.\d+)?){0,39}\s*$/, 'temperatures in °C, e.g. -10,0,25')
    .optional(),
});

export type CellTables = z.infer<typeof cellTables>;
export type CellTable = CellTables['tables'][number];
export type CircuitParameter = z.infer<typeof circuitParameter>;
