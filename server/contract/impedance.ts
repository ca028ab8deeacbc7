import { z } from 'zod';
import { countedSoc } from './common.ts';

/** Why a value of a spectrum is missing. */
const valueReason = z.enum(['outside-measured-range', 'points-too-far-apart']);

/** The impedance at 1 kHz, interpolated in the logarithm of the frequency. */
export const impedanceAt1kHz = z.object({
  frequencyHz: z.number(),
  magnitudeOhm: z.number().nullable(),
  realOhm: z.number().nullable(),
  imaginaryOhm: z.number().nullable(),
  /** Of the magnitude: scatter of the points within a decade; the instrument's calibration is not in it. */
  standardUncertaintyOhm: z.number().nullable(),
  reason: valueReason.nullable(),
});

/** The resistance where the imaginary part crosses zero, coming down from the highest frequency. */
export const highFrequencyIntercept = z.object({
  resistanceOhm: z.number().nullable(),
  frequencyHz: z.number().nullable(),
  /** Scatter and interpolation; the instrument's calibration is not in it. Null in evaluations before version 1.4.0. */
  standardUncertaintyOhm: z.number().nullable().default(null),
  reason: z.enum(['no-inductive-part', 'no-capacitive-part', 'points-too-far-apart']).nullable(),
});

/** One parameter of a fitted circuit; `unit` is a UCUM code. */
export const impedanceParameter = z.object({
  name: z.string(),
  value: z.number(),
  unit: z.string(),
  standardError: z.number().nullable(),
  reason: z.string().nullable(),
});

/**
 * Series inductance + series resistance + arcs (resistance ∥ constant-phase element, R/(1 + (jωτ)^n)) and, where it is
 * there, a diffusion tail σ(1 − j)/√ω, fitted with weights 1/|Z|².
 */
export const impedanceCircuit = z.object({
  arcs: z.int(),
  diffusionTail: z.boolean(),
  parameters: z.array(impedanceParameter),
  /** Scatter about the circuit, as a fraction of |Z|. */
  residualSd: z.number().nullable(),
  /** Frequencies that were fitted, each with real and imaginary part. */
  points: z.int(),
  termination: z.string(),
});

/** A circuit that was tried, and why it was not taken. */
export const impedanceCandidate = z.object({
  arcs: z.int(),
  diffusionTail: z.boolean(),
  aicc: z.number().nullable(),
  residualSd: z.number().nullable(),
  chosen: z.boolean(),
  reason: z.string().nullable(),
});

/** Whether the spectrum obeys the Kramers–Kronig relations. Residuals are fractions of |Z|. */
export const spectrumConsistency = z.object({
  verdict: z.enum(['consistent', 'consistent-but-for-points', 'inconsistent', 'too-few-points']),
  sentence: z.string(),
  limit: z.number(),
  elements: z.int().nullable(),
  mu: z.number().nullable(),
  rmsResidual: z.number().nullable(),
  largestResidual: z.number().nullable(),
  largestAtHz: z.number().nullable(),
  departingHz: z.array(z.number()),
});

/** For drawing, highest frequency first: the circuit over the measured frequencies, and the residuals of both fits. */
export const spectrumCurve = z.object({
  frequencyHz: z.array(z.number()),
  /** Null where no circuit was taken. */
  circuitRealOhm: z.array(z.number()).nullable(),
  circuitImaginaryOhm: z.array(z.number()).nullable(),
  circuitRealResidual: z.array(z.number()).nullable(),
  circuitImaginaryResidual: z.array(z.number()).nullable(),
  /** Null where the points were too few for the check. */
  consistencyRealResidual: z.array(z.number()).nullable(),
  consistencyImaginaryResidual: z.array(z.number()).nullable(),
});

export const evaluatedSweep = z.object({
  position: z.int(),
  cell: z.string().nullable(),
  label: z.string(),
  soc: z.number().nullable(),
  socReason: z
    .enum(['start-soc-unknown', 'capacity-unknown', 'charge-not-stated', 'soc-out-of-range'])
    .nullable(),
  /** How the state of charge was counted; null where the table states it, where it is unknown, and before version 1.2.0. */
  counted: countedSoc.nullable().default(null),
  temperatureC: z.number().nullable(),
  voltageV: z.number().nullable(),
  chargeAh: z.number().nullable(),
  points: z.int(),
  frequencyMinHz: z.number(),
  frequencyMaxHz: z.number(),
  at1kHz: impedanceAt1kHz,
  intercept: highFrequencyIntercept,
  circuit: impedanceCircuit.nullable(),
  circuitReason: z.enum(['no-circuit-identified']).nullable(),
  candidates: z.array(impedanceCandidate),
  consistency: spectrumConsistency,
  curve: spectrumCurve,
});

/** The evaluation of all spectra of a test. */
export const impedanceResult = z.object({
  schemaVersion: z.literal(1),
  algorithm: z.object({ name: z.literal('impedance'), version: z.string() }),
  sweeps: z.array(evaluatedSweep),
});

/** Which circuits are tried for a spectrum, and what counts as consistent. */
export const impedanceSettings = z
  .object({
    maxArcs: z.int().min(0).max(2),
    diffusionTail: z.enum(['auto', 'always', 'never']),
    /** Lower frequencies are left out of the circuit's fit. */
    fitFromHz: z.number().positive(),
    consistencyLimit: z.number().positive().max(1),
  })
  .partial();

/** A stored spectrum, points in the order of the file. The imaginary part is negative where the cell is capacitive. */
export const sweep = z.object({
  position: z.int(),
  label: z.string(),
  soc: z.number().nullable(),
  chargeAh: z.number().nullable(),
  voltageV: z.number().nullable(),
  temperatureC: z.number().nullable(),
  sourceRowFirst: z.int(),
  sourceRowLast: z.int(),
  frequencyHz: z.array(z.number()),
  realOhm: z.array(z.number()),
  imaginaryOhm: z.array(z.number()),
});
export const sweepList = z.object({ items: z.array(sweep) });

export type EvaluatedSweep = z.infer<typeof evaluatedSweep>;
export type ImpedanceResult = z.infer<typeof impedanceResult>;
export type ImpedanceSettings = z.infer<typeof impedanceSettings>;
export type SpectrumConsistency = z.infer<typeof spectrumConsistency>;
export type SpectrumCurve = z.infer<typeof spectrumCurve>;
export type Sweep = z.infer<typeof sweep>;
