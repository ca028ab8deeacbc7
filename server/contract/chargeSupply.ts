import { z } from 'zod';

const positive = z.number().finite().positive();
const notNegative = z.number().finite().nonnegative();
const efficiencyValue = z.number().gt(0).max(1);

/** Whether values are those of one path of a converter or of all its paths together. */
const ofPaths = z.enum(['one-path', 'all-paths']);

/** One efficiency, or a table against the output current, read by straight lines with its edges held. */
const efficiencyTable = z.strictObject({
  outputCurrentA: z.array(notNegative).min(2),
  efficiency: z.array(efficiencyValue).min(2),
});
const regulatorEfficiency = z.union([efficiencyValue, efficiencyTable]);
/** As well with the paths that the currents belong to; needed where the converter has more than one. */
const stageEfficiency = z.union([efficiencyValue, efficiencyTable.extend({ of: ofPaths.optional() })]);

/** Name and revision of the kept part that this was picked from; absent where it was described here. */
const part = z.strictObject({
  id: z.int().positive(),
  name: z.string().min(1).max(120),
  revision: z.int().positive(),
});

/** The supply, for example a programmable one of the USB PD kind with voltage and current steps. */
export const chargeSource = z.strictObject({
  /** The source cannot be set lower. */
  minVoltageV: notNegative.default(0),
  maxVoltageV: positive,
  maxCurrentA: positive,
  maxPowerW: positive.optional(),
  voltageStepV: positive.optional(),
  currentStepA: positive.optional(),
  part: part.optional(),
});

/** Resistance there and back. */
export const chargeCable = z.strictObject({
  resistanceOhm: notNegative.default(0),
  maxCurrentA: positive.optional(),
  part: part.optional(),
});

/** One of several unlike paths; at a common input and output voltage they share the current by their resistances. */
const converterPath = z.strictObject({
  maxCurrentA: positive,
  outputResistanceOhm: notNegative,
  fixedLossCurrentA: notNegative.default(0),
});
export type ConverterPathInput = z.infer<typeof converterPath>;

/** Output of a converter at one moment; its temperature is kept beside it and takes no part in a fit. */
const output = {
  outputVoltageV: positive,
  outputCurrentA: positive,
  temperatureC: z.number().min(-60).max(300).optional(),
};
/** Measured at one moment: the output, and beside it the input or the efficiency. */
export const operatingPoint = z.union([
  z.strictObject({ ...output, inputVoltageV: positive, inputCurrentA: positive }),
  z.strictObject({ ...output, efficiency: efficiencyValue }),
]);
export type OperatingPoint = z.infer<typeof operatingPoint>;
/** Standard uncertainties of the errors of the meters that read operating points: a share of the reading, and constant errors. */
export const meterErrors = z.strictObject({
  readingShare: z.number().min(0).max(0.1).optional(),
  voltageOffsetV: notNegative.optional(),
  currentOffsetA: notNegative.optional(),
});
/** Operating points that a converter takes at most. */
export const MOST_OPERATING_POINTS = 20;

/**
 * A fixed ratio N: input voltage = N (output voltage + R × output current), input current = output current / N + fixed-loss
 * current. The losses are said in one of four ways: resistance and fixed loss of each of the equal paths, a list of unlike
 * paths, two or more measured operating points, or an efficiency.
 */
const ratioStage = z.strictObject({
  ratio: z.union([z.literal(1), z.literal(2), z.literal(4)]),
  /** How many equal paths lie side by side, or a list of unlike ones. */
  paths: z.union([z.number().int().min(1).max(4), z.array(converterPath).min(1).max(4)]).default(1),
  /** Output current of each equal path. */
  maxPathCurrentA: positive.optional(),
  /** Of each equal path, seen at the output. */
  outputResistanceOhm: notNegative.optional(),
  /** Input current of each equal path that does not depend on the load. */
  fixedLossCurrentA: notNegative.optional(),
  /** From which resistance and fixed loss are computed. */
  operatingPoints: z
    .strictObject({
      of: ofPaths.optional(),
      points: z.array(operatingPoint).min(2).max(MOST_OPERATING_POINTS),
      /** Standard uncertainties of the constant errors of the meters, which all points share; 0 where left out. */
      meters: meterErrors.optional(),
    })
    .optional(),
  /**
   * Output power over input power. One number: all of the loss is taken as voltage. A table: what grows with the square of
   * the current is taken as voltage, the rest as input current.
   */
  efficiency: stageEfficiency.optional(),
  /** Below these the regulator takes over (absent: 0). */
  minStackVoltageV: notNegative.optional(),
  minOutputCurrentA: notNegative.optional(),
});
export type RatioStageDescription = z.infer<typeof ratioStage>;

/** Output power = efficiency × input power. */
const regulator = z.strictObject({
  /** `step-down`: the input lies above the output by the headroom; `step-up`: below it; `step-up-down`: either. */
  kind: z.enum(['step-down', 'step-up', 'step-up-down']).default('step-down'),
  maxOutputCurrentA: positive,
  efficiency: regulatorEfficiency.default(1),
  /** Bus voltage it asks for. */
  inputVoltageV: positive,
  /** Least distance of input and output voltage. */
  headroomV: notNegative.default(0),
});

/** Between cable and stack: a fixed ratio for the fast part and a switching regulator for precharge and end. */
export const chargeConverter = z.strictObject({
  ratioStage: ratioStage.optional(),
  regulator: regulator.optional(),
  part: part.optional(),
});
export type ConverterDescription = z.infer<typeof chargeConverter>;
