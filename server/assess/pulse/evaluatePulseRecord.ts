import { seriesResistance } from '../../../fitting/open-circuit/index.ts';
import type { RecordColumns } from '../../../fitting/records/index.ts';
import type { EvaluatedPulse, PulseRecordStep } from '../../contract/evaluatedPulse.ts';
import type { EvaluatedPulseRecord, ParameterTableRow, PulseSettings } from '../../contract/pulseRecord.ts';
import { presentIso, presentPulsePowers, presentTwoLevel } from './presentPowers.ts';
import { presentPulse } from './presentPulse.ts';
import { presentOpenCircuit, presentRests } from './presentRests.ts';
import { findInRecord, type PulseFindings } from './pulseFindings.ts';
import { pulseWarnings } from './pulseWarnings.ts';
import { presentRestPolarisations } from './restPolarisations.ts';

/** Version of the evaluation: a change of any number it gives is a new version. */
export const PULSE_VERSION = '1.12.0';

/** Durations at which resistances are given unless others are asked for, in s. */
export const DEFAULT_DURATIONS_S = [0.1, 0.2, 0.5, 1, 2, 5, 10, 18, 30] as const;

/** Longest step that counts as a pulse, in s, unless stated otherwise. */
export const DEFAULT_LONGEST_PULSE_S = 150;

/**
 * Evaluates a pulse record wholly: steps, pulses, resistances at their durations, the standard methods, a
 * circuit for every pulse, open-circuit voltages and the table over SOC. A pure function of the record, the
 * settings and {@link PULSE_VERSION}.
 *
 * @param asked settings that differ from the defaults; what is not known is null
 * @throws RangeError naming column, row and value where the record is unfit, or the setting that cannot be
 */
export function evaluatePulseRecord(
  record: RecordColumns,
  asked: Partial<PulseSettings> = {},
): EvaluatedPulseRecord {
  const settings = completeSettings(asked);
  const findings = findInRecord(record, settings);
  const { finding, pulses, circuits } = findings;
  const series = seriesResistance(findings.record, finding.steps, settings.ratedCapacityAh);
  const rests = presentRests(findings);
  const openCircuit = presentOpenCircuit(findings, rests);
  const evaluated = pulses.map((_, index) => presentPulse(findings, index));
  const { timeS } = record;
  return {
    schemaVersion: 1,
    algorithm: { name: 'pulse-record', version: PULSE_VERSION },
    settings,
    record: {
      rows: timeS.length,
      startTimeS: timeS[0],
      durationS: durationOf(timeS),
      voltageResolutionV: finding.voltageResolutionV,
      currentResolutionA: finding.scale.resolutionA,
      voltageNoiseV: finding.voltageNoiseV,
      restCurrentOffsetA: finding.scale.restOffsetA,
      clockRestarts: finding.steps.filter((step) => step.clockRestarted).length,
      hasTemperature: record.temperatureC !== undefined,
      edges: circuits.edges,
      unsettledS: circuits.deadS,
      voltageLagS: circuits.voltageLag?.lagS ?? null,
      voltageLagStandardErrorS: circuits.voltageLag?.standardErrorS ?? null,
      startSoc: findings.settings.startSoc,
      startSocBasis: settings.startSoc === null ? (findings.derivedStart?.basis ?? null) : 'stated',
      edgeResistanceOhm: series.ohm,
      joined: null,
    },
    steps: presentSteps(findings),
    pulses: evaluated,
    twoLevelResistances: presentTwoLevel(findings),
    pulsePowers: presentPulsePowers(findings, rests),
    isoEvaluations: presentIso(findings),
    rests,
    restPolarisations: presentRestPolarisations(findings),
    openCircuit: openCircuit.curve,
    openCircuitReason: openCircuit.reason,
    table: evaluated.filter((pulse) => pulse.circuit !== null).map(tableRow),
    warnings: pulseWarnings(record, findings, series, openCircuit.slow, evaluated),
  };
}

function completeSettings(asked: Partial<PulseSettings>): PulseSettings {
  const settings: PulseSettings = {
    ratedCapacityAh: asked.ratedCapacityAh ?? null,
    cellCapacityAh: asked.cellCapacityAh ?? null,
    cellCapacityBasis: asked.cellCapacityAh == null ? null : (asked.cellCapacityBasis ?? 'stated'),
    startSoc: asked.startSoc ?? null,
    durationsS: [...(asked.durationsS ?? DEFAULT_DURATIONS_S)],
    maxBranches: asked.maxBranches ?? 3,
    minVoltageV: asked.minVoltageV ?? null,
    maxVoltageV: asked.maxVoltageV ?? null,
    fixtureResistanceOhm: asked.fixtureResistanceOhm ?? null,
    fixtureStandardUncertaintyOhm: asked.fixtureStandardUncertaintyOhm ?? null,
    longestPulseS: asked.longestPulseS ?? DEFAULT_LONGEST_PULSE_S,
  };
  const { durationsS, maxBranches, minVoltageV, maxVoltageV, cellCapacityAh } = settings;
  if (cellCapacityAh !== null && !(cellCapacityAh > 0))
    throw new RangeError(`The capacity of the cell is ${cellCapacityAh} Ah; it must be above 0`);
  for (const durationS of durationsS) {
    if (!(durationS > 0) || !Number.isFinite(durationS)) {
      throw new RangeError(`A duration is ${durationS} s; it must be above 0`);
    }
  }
  if (!Number.isInteger(maxBranches) || maxBranches < 0 || maxBranches > 3) {
    throw new RangeError(`The largest number of branches is ${maxBranches}; it must be 0, 1, 2 or 3`);
  }
  if (!(settings.longestPulseS > 0)) {
    throw new RangeError(`The longest pulse is ${settings.longestPulseS} s; it must be above 0`);
  }
  if (minVoltageV !== null && maxVoltageV !== null && minVoltageV >= maxVoltageV) {
    throw new RangeError(
      `The voltage limits are ${minVoltageV} V and ${maxVoltageV} V; the first must be lower`,
    );
  }
  return settings;
}

function durationOf(timeS: Float64Array): number {
  let durationS = 0;
  for (let i = 1; i < timeS.length; i++) durationS += Math.max(0, timeS[i] - timeS[i - 1]);
  return durationS;
}

function presentSteps({ record, rowOf, finding, soc }: PulseFindings): PulseRecordStep[] {
  const { timeS, voltageV, temperatureC, step: recorded } = record;
  return finding.steps.map((step, index) => {
    const last = step.end - 1;
    const temperatures = temperatureC?.subarray(step.start, step.end);
    return {
      index,
      kind: step.kind,
      firstRow: rowOf(step.start),
      lastRow: rowOf(last),
      startTimeS: timeS[step.start],
      durationS: timeS[last] - timeS[step.start],
      meanCurrentA: step.currentA,
      startVoltageV: voltageV[step.start],
      endVoltageV: voltageV[last],
      chargeAh: soc.chargeAh[last] - soc.chargeAh[step.start],
      socBefore: soc.socAt(step.start),
      meanTemperatureC: temperatures
        ? temperatures.reduce((sum, value) => sum + value, 0) / temperatures.length
        : null,
      gapBeforeS: step.gapBeforeS,
      recordedStep: recorded?.[step.start] ?? null,
    };
  });
}

function tableRow(pulse: EvaluatedPulse): ParameterTableRow {
  const circuit = pulse.circuit;
  return {
    direction: pulse.direction,
    soc: pulse.socBefore,
    temperatureC: pulse.temperatureC,
    currentA: pulse.currentA,
    pulseIndex: pulse.index,
    ocvV: circuit?.ocvV ?? null,
    r0Ohm: circuit?.r0Ohm ?? null,
    r1Ohm: circuit?.r1Ohm ?? null,
    tau1S: circuit?.tau1S ?? null,
    r2Ohm: circuit?.r2Ohm ?? null,
    tau2S: circuit?.tau2S ?? null,
    r3Ohm: circuit?.r3Ohm ?? null,
    tau3S: circuit?.tau3S ?? null,
  };
}
