import { z } from 'zod';
import { chargeCable, chargeConverter, chargeSource } from './chargeSupply.ts';

/**
 * The study description: one JSON document that says which cells are charged, by what, and what is asked.
 * Units are in the names, current is positive on charge, SOC is a fraction 0…1, rates are in C of the rated capacity.
 */
export const CHARGE_STUDY_SCHEMA_VERSION = 1;

const positive = z.number().finite().positive();
const notNegative = z.number().finite().nonnegative();
const finite = z.number().finite();
const fraction = z.number().min(0).max(1);

/**
 * A quantity over the cell's SOC grid and, where it has one, its temperature grid: one number (the same everywhere),
 * one number per SOC, or one row per SOC with one number per temperature.
 */
const gridValue = z.union([finite, z.array(finite).min(1), z.array(z.array(finite).min(1)).min(1)]);
export type GridValue = z.infer<typeof gridValue>;

/** Standard uncertainties (one sigma) that the Monte Carlo question draws from; an absent one counts as zero. */
export const cellUncertainty = z.strictObject({
  /** Of the capacity, relative (0.01 is 1 %). */
  capacityRelative: notNegative.optional(),
  /** Of all of R0, relative; one draw for the whole table. */
  r0Relative: notNegative.optional(),
  /** Of the resistances of all RC branches, relative; one draw for all. */
  branchRelative: notNegative.optional(),
  /** Correlation of the two draws above. */
  r0BranchCorrelation: z.number().min(-1).max(1).optional(),
  /** Of the open-circuit voltage, an offset in volts. */
  ocvV: notNegative.optional(),
  startSoc: notNegative.optional(),
  startTemperatureK: notNegative.optional(),
  heatCapacityRelative: notNegative.optional(),
  heatTransferRelative: notNegative.optional(),
});

/** One cell of the stack: its fitted circuit model, its heat balance, its state at the start, its datasheet. */
export const chargeCell = z.strictObject({
  name: z.string().min(1).max(120),
  chemistry: z.string().max(60).optional(),
  /** Measured capacity between SOC 0 and 1. */
  capacityAh: positive,
  /** Rated capacity: what one C is. Absent: the measured capacity. */
  ratedCapacityAh: positive.optional(),
  /** Ascending SOC of the rows of the tables. */
  soc: z.array(finite).min(2),
  /** Ascending temperatures of the columns of the tables; absent or one entry: no dependence on temperature. */
  temperatureC: z.array(finite).min(1).optional(),
  ocvV: gridValue,
  /** How the OCV is read between two SOC of the grid; `linear` is the same mathematics as an exported circuit. */
  ocvInterpolation: z.enum(['linear', 'pchip']).default('linear'),
  r0Ohm: gridValue,
  branches: z
    .array(z.strictObject({ rOhm: gridValue, tauS: gridValue }))
    .max(5)
    .default([]),
  /** Arrhenius factor on R0 (and on the branches where said); only where `temperatureC` has no more than one entry. */
  arrhenius: z
    .strictObject({
      activationEnergyJPerMol: finite,
      referenceTemperatureC: finite,
      branchesToo: z.boolean().default(false),
      /** Temperatures that the law was measured between; absent: not bounded. */
      validFromC: finite.optional(),
      validToC: finite.optional(),
    })
    .optional(),
  /** dU/dT over the SOC grid, V/K; absent: no reversible heat. */
  entropicVPerK: gridValue.optional(),
  /** Lumped heat balance; absent: the cell stays at its start temperature. */
  thermal: z
    .strictObject({
      heatCapacityJPerK: positive,
      heatTransferWPerK: notNegative,
      /** What the two values rest on. */
      basis: z.enum(['entered', 'fitted']).default('entered'),
    })
    .optional(),
  startSoc: fraction,
  /** Absent: the ambient temperature. */
  startTemperatureC: finite.optional(),
  /** The maker's limits. Nothing that is computed or advised goes beyond them. */
  datasheet: z.strictObject({
    maxVoltageV: positive,
    maxChargeCurrentA: positive,
    minChargeTemperatureC: finite.optional(),
    maxChargeTemperatureC: finite.optional(),
    /**
     * The datasheet's limits by temperature. They bound the cell beside the study's own zones; outside all of them it is not
     * charged.
     */
    zones: z
      .array(
        z.strictObject({
          fromC: finite,
          toC: finite,
          maxCurrentA: notNegative.optional(),
          maxVoltageV: positive.optional(),
        }),
      )
      .max(12)
      .optional(),
    /** True where the entries are general defaults of the chemistry and not read from the datasheet. */
    defaults: z.boolean().default(false),
  }),
  uncertainty: cellUncertainty.optional(),
});

/** Discharges a cell past the charge current while its voltage is high. Start and stop are cell voltages. */
export const bypass = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('resistor'),
    resistanceOhm: positive,
    startVoltageV: positive,
    stopVoltageV: positive,
    atRest: z.boolean().default(false),
  }),
  z.strictObject({
    kind: z.literal('current'),
    currentA: positive,
    startVoltageV: positive,
    stopVoltageV: positive,
    atRest: z.boolean().default(false),
  }),
]);

/** The cells in series and what the charger watches. */
export const chargeStack = z.strictObject({
  ambientTemperatureC: finite,
  /** `per-cell`: no cell passes its limit. `stack-only`: only the sum is watched, as a warning example. */
  watch: z.enum(['per-cell', 'stack-only']).default('per-cell'),
  /** Limit of each cell in the charge; absent: the datasheet's. */
  cellVoltageLimitV: positive.optional(),
  /** Limit of the sum; absent: the sum of the cells' limits. Only for `stack-only`. */
  stackVoltageLimitV: positive.optional(),
  /** One entry per cell, null for none. */
  bypass: z.array(bypass.nullable()).optional(),
  /** Ends the charge when any cell is hotter; absent: the datasheet's. */
  maxTemperatureC: finite.optional(),
  /**
   * Resistance of board, switch and connector between the output of the charger and the cells, divided by the point at
   * which the charger senses the voltage. What lies beyond that point counts into the sensed voltage, an equal part for each
   * cell.
   */
  seriesResistance: z
    .strictObject({ toSensePointOhm: notNegative.default(0), beyondSensePointOhm: notNegative.default(0) })
    .optional(),
});

/** A current as amperes or as a multiple of the smallest rated capacity in the stack; exactly one of the two. */
const currentOrRate = { currentA: positive.optional(), rateC: positive.optional() };

/** When a stage hands over to the next: whichever comes first; a cell condition holds when the first cell meets it. */
export const stageUntil = z.strictObject({
  socAtLeast: fraction.optional(),
  cellVoltageAtLeastV: positive.optional(),
  temperatureAtLeastC: finite.optional(),
  durationS: positive.optional(),
});

export const chargePhases = z.strictObject({
  /** Small current until every cell has reached the voltage. */
  precharge: z.strictObject({ belowCellVoltageV: positive, ...currentOrRate }).optional(),
  /** Constant-current stages in turn; the last runs until the voltage limit. */
  stages: z
    .array(z.strictObject({ ...currentOrRate, until: stageUntil.optional() }))
    .min(1)
    .max(20),
  /** The charge is complete when the current at the voltage limit has fallen to this. Absent: 0.05 C. */
  end: z.strictObject(currentOrRate).optional(),
  /** `stepped`: the current goes down by the supply's current step each time a cell reaches its limit. */
  taper: z.enum(['continuous', 'stepped']).default('continuous'),
  /** Rest after the end, during which bypasses marked `atRest` work on. */
  restAfterS: notNegative.default(0),
  maxDurationS: positive.default(86400),
});

/** A temperature range with its own current and voltage; a temperature outside every zone means: do not charge. */
export const temperatureZone = z.strictObject({
  fromC: finite,
  toC: finite,
  maxRateC: notNegative.optional(),
  maxCurrentA: notNegative.optional(),
  maxCellVoltageV: positive.optional(),
});

/**
 * Life against rate, as fitted from cycled cells: cycles to end of life = cyclesAtReference × (rate / referenceRateC)^-exponent ×
 * exp(rateCoefficientPerC × (rate − referenceRateC)) × Arrhenius. Usually one of the two dependences on the rate is 0.
 */
export const lifeLaw = z.strictObject({
  cyclesAtReference: positive,
  referenceRateC: positive,
  rateExponent: finite.default(0),
  /** Change of ln life for each C; below zero where life shortens with the rate. */
  rateCoefficientPerC: finite.default(0),
  /** Range of the rates that the law was fitted to; outside it no life is given. Absent: everywhere. */
  validRateC: z.strictObject({ from: finite, to: finite }).optional(),
  referenceTemperatureC: finite,
  /** Above zero: life shortens with the peak temperature. */
  activationEnergyJPerMol: notNegative.default(0),
  basis: z.string().max(400).optional(),
});

export type LifeLawInput = z.input<typeof lifeLaw>;

/** What is asked beside the plain simulation, which is always answered. */
export const chargeQuestions = z.strictObject({
  /** Highest constant rate that keeps every limit. */
  rateSearch: z
    .strictObject({
      /** SOC whose time the search minimises by raising the rate. */
      targetSoc: fraction.default(0.8),
      minRateC: positive.default(0.05),
      /** Absent: the datasheet's rating. */
      maxRateC: positive.optional(),
      /** What the rate must also keep, beside the limits of stack and datasheet. */
      maxTemperatureC: finite.optional(),
      /** The constant-current part must reach at least this SOC before the voltage limit is met. */
      minSocAtVoltageLimit: fraction.optional(),
      /** Points of the trade-off curve. */
      tradeOffPoints: z.number().int().min(2).max(30).default(8),
      life: lifeLaw.optional(),
    })
    .optional(),
  /** A staged profile that reaches the target no later than the best single rate under the same limits. */
  stagedProfile: z
    .strictObject({
      stages: z.number().int().min(2).max(8).default(4),
      targetSoc: fraction.default(0.8),
      maxTemperatureC: finite.optional(),
    })
    .optional(),
  monteCarlo: z
    .strictObject({
      draws: z.number().int().min(10).max(20000).default(1000),
      seed: z.number().int().nonnegative().default(1),
      level: z.number().gt(0).lt(1).default(0.95),
    })
    .optional(),
  /** The same charge with only the stack voltage watched. */
  stackOnly: z.boolean().default(false),
  /** Recommended rate against temperature and resistance growth. */
  rateTable: z
    .strictObject({
      temperatureC: z.array(finite).min(1).max(20),
      /** 0 is new, 0.5 is +50 %. */
      resistanceGrowth: z.array(notNegative).min(1).max(10).default([0, 0.5, 1]),
      maxTemperatureC: finite.optional(),
    })
    .optional(),
  /** Seconds between the rows of `series`; absent: no series. */
  seriesStepS: positive.optional(),
  /** SOC whose times are wanted beside 0.5, 0.8 and 1. */
  timesAtSoc: z.array(fraction).max(20).optional(),
});

/** What must be known of a study's parameters or result, as a code and a sentence. */
export const chargeNote = z.strictObject({
  code: z.string().min(1).max(60),
  message: z.string().min(1).max(600),
});
export type ChargeNote = z.infer<typeof chargeNote>;

/** The document of `gemel charge FILE` and of a stored study. */
export const chargeStudyDescription = z.strictObject({
  schemaVersion: z.literal(CHARGE_STUDY_SCHEMA_VERSION),
  name: z.string().max(200).optional(),
  cells: z.array(chargeCell).min(1).max(8),
  stack: chargeStack,
  phases: chargePhases,
  temperatureZones: z.array(temperatureZone).max(12).optional(),
  /** A zone is left only when the temperature is this far beyond its edge. */
  zoneHysteresisK: notNegative.default(1),
  source: chargeSource.optional(),
  cable: chargeCable.optional(),
  converter: chargeConverter.optional(),
  questions: chargeQuestions.default({ stackOnly: false }),
  /** What must be known of the parameters; a draft fills it, and the result repeats it among its warnings. */
  notes: z.array(chargeNote).max(100).optional(),
});
export type ChargeStudyDescription = z.infer<typeof chargeStudyDescription>;
export type ChargeStudyInput = z.input<typeof chargeStudyDescription>;
export type ChargeCellDescription = z.infer<typeof chargeCell>;
