import type { EvaluatedPulse } from '../../server/contract/evaluatedPulse.ts';
import type { EvaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';
import { circuitRow } from './exportFixture.ts';

const soc = [0.1, 0.3, 0.5, 0.7, 0.9];
const ocv = [3.45, 3.62, 3.705, 3.86, 4.06];

/** One evaluated charge pulse whose fit is the circuit row of the fixture. */
function pulse(index: number, z: number, scale: number, ocvV: number): EvaluatedPulse {
  const row = circuitRow(z, scale, ocvV);
  return {
    index,
    stepIndex: 2 * index + 1,
    startTimeS: 4000 * index,
    durationS: 30,
    currentA: 2,
    rateC: 1,
    direction: 'charge',
    socBefore: z,
    socBeforeReason: null,
    temperatureC: 25,
    temperatureReason: null,
    temperatureRiseC: 0.1,
    restVoltageV: ocvV,
    restVoltageStandardUncertaintyV: 1e-4,
    restCurrentA: 0,
    restBeforeS: 3600,
    endVoltageV: ocvV + 0.07,
    endedBy: 'time',
    resistances: [
      {
        durationS: 10,
        valueOhm: 0.031 * scale,
        standardUncertaintyOhm: 1e-4,
        reason: null,
        sampledAtS: 10,
        method: 'step',
      },
    ],
    circuit: {
      branches: 2,
      ocvV,
      ocvStandardErrorV: 1e-4,
      ocvSlopeVPerAs: 1e-5,
      ocvSlopeStandardErrorVPerAs: 1e-7,
      r0Ohm: row.r0.value ?? 0,
      r0StandardErrorOhm: 6e-5,
      shortestTauS: 0.1,
      r1Ohm: row.branches[0].r.value,
      r1StandardErrorOhm: 1e-4,
      tau1S: row.branches[0].tau.value,
      tau1StandardErrorS: 0.05,
      r2Ohm: row.branches[1].r.value,
      r2StandardErrorOhm: 2e-4,
      tau2S: row.branches[1].tau.value,
      tau2StandardErrorS: 1.4,
      r3Ohm: null,
      r3StandardErrorOhm: null,
      tau3S: null,
      tau3StandardErrorS: null,
      residualSdV: 5e-5,
      termination: 'step',
      aicc: -900,
      covariance: {
        names: ['ocvV', 'r0Ohm'],
        matrix: [
          [1e-8, -1e-9],
          [-1e-9, 3.6e-9],
        ],
      },
      residualCheck: { verdict: 'white', lagOneCorrelation: 0.02, largestV: 1.5e-4 },
      standardErrorFactor: 1,
      firstRow: 10 * index,
      lastRow: 10 * index + 9,
      rows: 10,
      candidates: [],
    },
    circuitReason: null,
  };
}

/** An evaluated pulse record with five charge pulses. */
export function pulseRecord(scale: number): EvaluatedPulseRecord {
  return {
    schemaVersion: 1,
    algorithm: { name: 'pulse-record', version: '1.0.0' },
    settings: {
      ratedCapacityAh: 2,
      startSoc: 0,
      durationsS: [10],
      maxBranches: 2,
      minVoltageV: null,
      maxVoltageV: null,
      fixtureResistanceOhm: null,
      fixtureStandardUncertaintyOhm: null,
      longestPulseS: 120,
    },
    record: {
      startSoc: null,
      startSocBasis: null,
      rows: 50,
      startTimeS: 0,
      durationS: 20_000,
      voltageResolutionV: 1e-4,
      currentResolutionA: 1e-3,
      voltageNoiseV: 5e-5,
      restCurrentOffsetA: 0,
      clockRestarts: 0,
      hasTemperature: true,
      edges: 'sharp',
      unsettledS: 0,
      voltageLagS: null,
      voltageLagStandardErrorS: null,
      edgeResistanceOhm: null,
    },
    steps: [],
    pulses: soc.map((z, i) => pulse(i, z, scale, ocv[i])),
    isoEvaluations: [],
    twoLevelResistances: [],
    pulsePowers: [],
    restPolarisations: [],
    rests: [],
    openCircuit: {
      source: 'rests',
      soc: [0, ...soc, 1],
      ocvV: [3.2, ...ocv, 4.18],
      standardUncertaintyV: [0, 0, 0, 0, 0, 0, 0].map(() => 3e-4),
      slopeV: [2, 1, 0.6, 0.5, 0.8, 1, 1.2],
      hysteresisV: [null, null, null, null, null, null, null],
    },
    openCircuitReason: null,
    table: [],
    warnings: [],
  };
}
