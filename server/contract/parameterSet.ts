import { z } from 'zod';
import { ucumUnit } from './ucum.ts';

/**
 * The parameter set: what is known of a cell, a pair, a stack, a lot, a pairing or a cell type, as one document that
 * other tools read. Every number says its unit as a UCUM code; a missing number is null with the reason beside it.
 * Fields may be added within a version; a change of meaning or a removal makes a new version with its own schema.
 */
export const PARAMETER_SET_VERSION = 1;

/** Name of the schema of this version; the service hands it out at `/api/v1/schemas/parameter-set/1`. */
export const PARAMETER_SET_SCHEMA = `urn:gemel:schema:parameter-set:${PARAMETER_SET_VERSION}`;

const orNull = z.number().nullable();
const code = z.string().min(1);
const direction = z.enum(['charge', 'discharge']);

/** A number with its unit and standard uncertainty (one sigma). A missing one says why. */
export const parameterValue = z.union([
  z.object({
    value: z.number(),
    unit: ucumUnit,
    standardUncertainty: z.number().nonnegative().nullable(),
    reason: code.nullable(),
  }),
  z.object({ value: z.null(), unit: ucumUnit, standardUncertainty: z.null(), reason: code }),
]);

/** What a value belongs to. Null: not known, or it does not apply. */
export const parameterCondition = z.object({
  soc: orNull,
  temperatureC: orNull,
  direction: direction.nullable(),
  durationS: orNull,
  currentA: orNull,
});

/** One measured or derived quantity of a cell, with where it came from. */
export const parameterMeasurement = z.object({
  id: z.int(),
  quantity: z.string().min(1),
  result: parameterValue,
  condition: parameterCondition,
  cycle: orNull,
  efc: orNull,
  method: z.string(),
  excludedReason: z.string().nullable(),
  measuredAt: z.string().nullable(),
  testId: z.int().nullable(),
  fitId: z.int().nullable(),
  fileId: z.int().nullable(),
  fileRow: z.int().nullable(),
});

/** Covariance of the parameters named, in their order; the unit of an entry is the product of the two units. */
export const parameterCovariance = z.object({
  names: z.array(z.string()),
  units: z.array(ucumUnit),
  matrix: z.array(z.array(z.number())),
});

/** The circuit model OCV + R0 + branches of R and C in parallel at one state of charge; tau = R C. */
export const circuitRow = z.object({
  soc: z.number(),
  currentA: orNull,
  ocv: parameterValue,
  r0: parameterValue,
  branches: z.array(z.object({ r: parameterValue, tau: parameterValue })).max(4),
  covariance: parameterCovariance.nullable(),
});

/** Where the table was measured. Outside it nothing is known: a reader holds the edge values or refuses. */
export const parameterValidity = z.object({
  socMin: z.number(),
  socMax: z.number(),
  temperatureMinC: orNull,
  temperatureMaxC: orNull,
  currentMaxA: orNull,
  /** Longest time after a step of current that the fit saw. */
  durationMaxS: orNull,
});

/** A circuit table over ascending SOC, of one test at one temperature and one direction of current. */
export const circuitTable = z.object({
  direction,
  temperatureC: orNull,
  rows: z.array(circuitRow),
  validity: parameterValidity,
  fitId: z.int().nullable(),
  testId: z.int().nullable(),
  /** What long steady loads of the same test had built up, seen in the rests after them, ascending in SOC. */
  restPolarisations: z
    .array(
      z.object({
        soc: z.number(),
        currentA: z.number(),
        loadS: z.number(),
        resistance: parameterValue,
        /** Time constant of the slow part; null where the rest shows none. */
        tauS: orNull,
        /** The slow processes, with time constants that all rests of the test share. */
        slow: z.array(z.object({ tauS: z.number(), resistanceOhm: z.number() })).optional(),
      }),
    )
    .optional(),
});

/** Open-circuit voltage over ascending SOC. */
export const openCircuitTable = z.object({
  source: z.string(),
  temperatureC: orNull,
  rows: z.array(z.object({ soc: z.number(), ocv: parameterValue })),
  fitId: z.int().nullable(),
  testId: z.int().nullable(),
});

/** The ageing model chosen for one quantity, and when it meets its limits. */
export const ageingParameters = z.object({
  quantity: z.string(),
  axis: z.string(),
  model: z.string().nullable(),
  parameters: z.array(
    z.object({
      name: z.string(),
      unit: ucumUnit,
      value: orNull,
      standardUncertainty: orNull,
      reason: code.nullable(),
    }),
  ),
  limits: z.array(
    z.object({
      name: z.string(),
      threshold: orNull,
      crossedAt: orNull,
      forecast: orNull,
      low: orNull,
      high: orNull,
      level: z.number(),
      reason: code.nullable(),
    }),
  ),
  fitId: z.int().nullable(),
});

export const cellParameters = z.object({
  id: z.int(),
  serial: z.string().min(1),
  state: z.string(),
  stateReason: z.string().nullable(),
  lot: z.object({ id: z.int(), name: z.string().min(1) }),
  /** The newest capacity that is not excluded. */
  capacity: parameterValue,
  measurements: z.array(parameterMeasurement),
  openCircuit: openCircuitTable.nullable(),
  circuits: z.array(circuitTable),
  /** Taken over from a measured charge; it counts before that of the cell type. Absent where none was. */
  heat: z.object({ heatCapacity: parameterValue, heatTransfer: parameterValue, fitId: z.int() }).optional(),
  ageing: z.array(ageingParameters),
  /**
   * Stored evaluations of the cell that are not in this document because they do not match their schema: evaluate the
   * test again.
   */
  leftOut: z
    .array(z.object({ kind: z.string(), fitId: z.int(), testId: z.int().nullable(), reason: code }))
    .default([]),
});

/** Datasheet limits; `basis` says which of them are the chemistry's usual ones because the datasheet entry is missing. */
export const cellTypeParameters = z.object({
  id: z.int(),
  name: z.string().min(1),
  maker: z.string(),
  chemistry: z.string(),
  ratedCapacity: parameterValue,
  limits: z.object({
    chargeVoltage: parameterValue,
    dischargeCutoff: parameterValue,
    chargeCurrent: parameterValue,
    chargeTemperatureMin: parameterValue,
    chargeTemperatureMax: parameterValue,
    commonPractice: z.array(z.string()),
    /** Charge limits of the datasheet by temperature; current in A, voltage in V; null: no other than the general one. */
    chargeZones: z
      .array(z.object({ fromC: z.number(), toC: z.number(), maxCurrentA: orNull, maxVoltageV: orNull }))
      .optional(),
  }),
  heatCapacity: parameterValue,
  heatTransfer: parameterValue,
  mass: parameterValue,
});

/** Two or more cells in series, in the order from the negative end. */
export const stackParameters = z.object({
  id: z.int().nullable(),
  name: z.string(),
  state: z.string(),
  cellIds: z.array(z.int()),
});

/** A pair, or a group of more cells in series. */
export const pairParameters = z.object({
  id: z.int(),
  pairingId: z.int(),
  position: z.int(),
  state: z.string(),
  cellIds: z.array(z.int()).min(2),
  cost: z.number(),
  differences: z.array(
    z.object({
      feature: z.string(),
      unit: ucumUnit,
      difference: z.number(),
      standardUncertainty: orNull,
      inTolerances: z.number(),
    }),
  ),
});

/** Spread of one quantity at one condition over the cells of the document. */
export const spreadParameters = z.object({
  key: z.string(),
  unit: ucumUnit,
  n: z.int(),
  mean: orNull,
  standardDeviation: orNull,
  minimum: orNull,
  maximum: orNull,
});

/** From a number back to the file it came from. */
export const parameterProvenance = z.object({
  software: z.object({ name: z.literal('gemel'), version: z.string() }),
  /** Path of the provenance in the service that wrote the document, where it is not in the document itself. */
  origin: z.string().optional(),
  fits: z.array(
    z.object({
      id: z.int(),
      kind: z.string(),
      testId: z.int().nullable(),
      algorithm: z.string(),
      algorithmVersion: z.string(),
      createdAt: z.iso.datetime(),
      createdBy: z.string(),
    }),
  ),
  tests: z.array(
    z.object({
      id: z.int(),
      cellId: z.int(),
      kind: z.string(),
      label: z.string(),
      startedAt: z.string().nullable(),
      temperatureC: orNull,
      instrument: z.string(),
      fileId: z.int().nullable(),
      firstRow: z.int().nullable(),
      lastRow: z.int().nullable(),
    }),
  ),
  files: z.array(
    z.object({
      id: z.int(),
      name: z.string(),
      sha256: z.string().regex(/^[0-9a-f]{64}$/),
      importedAt: z.iso.datetime(),
      importedBy: z.string(),
    }),
  ),
});

export const parameterSetKind = z.enum(['cell', 'pair', 'stack', 'lot', 'pairing', 'cell-type']);

export const parameterSet = z.object({
  schema: z.literal(PARAMETER_SET_SCHEMA),
  schemaVersion: z.literal(PARAMETER_SET_VERSION),
  kind: parameterSetKind,
  /**
   * `compact`: the tables without their derivation (values at a state of charge, covariances), and the provenance by its
   * path. Absent: everything.
   */
  form: z.literal('compact').optional(),
  /** What the document is about. */
  subject: z.object({ id: z.int(), name: z.string().min(1) }),
  cellType: cellTypeParameters,
  cells: z.array(cellParameters),
  stack: stackParameters.nullable(),
  pairs: z.array(pairParameters),
  spread: z.array(spreadParameters),
  cautions: z.array(z.object({ code, text: z.string().min(1) })).min(1),
  provenance: parameterProvenance,
});

/** Where the numbers of a parameter set came from and the cautions that go with them, without the numbers. */
export const parameterOrigin = z.object({
  subject: parameterSet.shape.subject,
  cautions: parameterSet.shape.cautions,
  provenance: parameterProvenance,
});

export type ParameterOrigin = z.infer<typeof parameterOrigin>;
export type UcumUnit = z.infer<typeof ucumUnit>;
export type ParameterValue = z.infer<typeof parameterValue>;
export type ParameterMeasurement = z.infer<typeof parameterMeasurement>;
export type CircuitRow = z.infer<typeof circuitRow>;
export type CircuitTable = z.infer<typeof circuitTable>;
export type OpenCircuitTable = z.infer<typeof openCircuitTable>;
export type CellParameters = z.infer<typeof cellParameters>;
export type CellTypeParameters = z.infer<typeof cellTypeParameters>;
export type ParameterSet = z.infer<typeof parameterSet>;
