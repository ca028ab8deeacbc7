import { z } from 'zod';
import { id } from './common.ts';
import { quantityName } from './measurements.ts';
import { residualChecks } from './residualChecks.ts';
import { fitHead } from './tests.ts';

/** How one resistance of a cell type depends on temperature: R(T) = R_ref · exp[(Ea/R)(1/T − 1/T_ref)], T in kelvin. */
export const temperatureLaw = z.object({
  /** The column without its temperature, e.g. `resistance/10s/discharge/soc50`. */
  key: z.string(),
  quantity: quantityName,
  durationS: z.number().nullable(),
  direction: z.enum(['charge', 'discharge']).nullable(),
  soc: z.number().nullable(),
  referenceC: z.number(),
  referenceOhm: z.number(),
  /** Null, as the other errors, where there are no more readings than parameters. */
  referenceStandardErrorOhm: z.number().nullable(),
  activationJPerMol: z.number(),
  activationStandardErrorJPerMol: z.number().nullable(),
  /** Covariance of ln R_ref and Ea/R in K. */
  covariance: z.array(z.array(z.number())).nullable(),
  /**
   * Standard uncertainty of a temperature that all its readings share, in °C, which the errors allow for: a usual one, and what the
   * temperatures' means show. Null without errors; missing in assessments before version 1.4.0.
   */
  temperatureErrorC: z.number().nullable().default(null),
  /** Measured range; outside it the law extrapolates. */
  lowestC: z.number(),
  highestC: z.number(),
  /** True where the reference temperature lies outside the measured range. */
  referenceExtrapolated: z.boolean(),
  readings: z.int(),
  cells: z.int(),
  /**
   * `same-cells`: every cell used was measured at several temperatures; `different-cells`: none was, so that differences
   * between the cells count as temperature.
   */
  basis: z.enum(['same-cells', 'different-cells']),
  /** Smallest and largest size of the pulse currents behind the readings; null where one is not stated. */
  currentsA: z.object({ lowest: z.number(), highest: z.number() }).nullable().default(null),
  /**
   * True where those currents differ by more than a quarter: the law then holds dependence on current as one on temperature.
   * Null where a current is not stated.
   */
  mixedCurrents: z.boolean().nullable().default(null),
  /** Largest |measured/fitted − 1| of one reading; with `same-cells` against the law at the level of its own cell. */
  largestDeviation: z.number(),
  /** Of ln(measured/fitted), in order of temperature; null in assessments of an earlier version. */
  residualChecks: residualChecks.nullable().default(null),
  /**
   * The law over the measured temperatures with its 95 % interval, and the 95 % band of one reading of a further cell of the type; empty
   * where there are no more readings than parameters.
   */
  band: z
    .array(
      z.object({
        temperatureC: z.number(),
        ohm: z.number(),
        low: z.number(),
        high: z.number(),
        readingLow: z.number(),
        readingHigh: z.number(),
      }),
    )
    .default([]),
  /** False where the mean resistance does not fall all the way with temperature: the law then describes it badly. */
  fallsThroughout: z.boolean(),
  /** Means of the readings that stand together, within 5 °C, and the law there. */
  points: z.array(
    z.object({
      temperatureC: z.number(),
      readings: z.int(),
      meanOhm: z.number(),
      standardDeviationOhm: z.number().nullable(),
      fittedOhm: z.number(),
    }),
  ),
});

/** The temperature dependence of a cell type's resistances, from the valid measurements of its cells. */
export const temperatureDependence = z.object({
  schemaVersion: z.literal(1),
  algorithm: z.object({ name: z.literal('temperature'), version: z.string() }),
  laws: z.array(temperatureLaw),
  /** Columns without a law: `one-temperature` where the temperatures lie within 5 °C of each other. */
  without: z.array(z.object({ key: z.string(), reason: z.enum(['one-temperature', 'not-positive']) })),
});

export const cellTypeTemperature = z.object({
  cellTypeId: id,
  fit: fitHead,
  dependence: temperatureDependence,
  /** What an assessment now would be based on and this one is not, and the other way round: all zero and false, it is current. */
  since: z.object({
    /** Resistances that would enter now. */
    added: z.int(),
    /** Resistances that entered and no longer would: evaluated again, taken back or superseded by a newer test. */
    gone: z.int(),
    /** The reference temperature of the cell type was changed. */
    referenceChanged: z.boolean(),
  }),
});

export type TemperatureLaw = z.infer<typeof temperatureLaw>;
export type TemperatureDependence = z.infer<typeof temperatureDependence>;
export type CellTypeTemperature = z.infer<typeof cellTypeTemperature>;
