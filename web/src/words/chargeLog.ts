import type { ChargeLogQuantity, ChargeLogResult } from '../../../server/contract/chargeLogResult.ts';

type Estimate = NonNullable<ChargeLogResult['fit']>['estimates'][number];

/** What can be fitted of a cell, in words. */
export const fitWords: Readonly<Record<ChargeLogQuantity, string>> = {
  capacity: 'capacity',
  'start-soc': 'start SOC',
  r0: 'R0',
  branches: 'RC branches',
  'slow-branch': 'a slow branch',
};

interface Shown {
  readonly name: string;
  readonly unit: string;
  /** From the stored unit to the one that is shown. */
  readonly by: number;
}

/** How a fitted parameter is shown. */
export const parameterWords: Readonly<Record<Estimate['quantity'], Shown>> = {
  capacityAh: { name: 'Capacity', unit: 'Ah', by: 1 },
  startSoc: { name: 'Start SOC', unit: '%', by: 100 },
  r0Factor: { name: 'R0, of that in the study', unit: '%', by: 100 },
  branchFactor: { name: 'RC branches, of those in the study', unit: '%', by: 100 },
  slowOhm: { name: 'Slow branch', unit: 'mΩ', by: 1000 },
  slowTauS: { name: 'Time constant of the slow branch', unit: 's', by: 1 },
  voltageOffsetV: { name: 'Offset of the voltage channel', unit: 'mV', by: 1000 },
  currentOffsetA: { name: 'Offset of the current channel', unit: 'mA', by: 1000 },
  edgeFraction: { name: 'Moment of a current step', unit: '% of its interval', by: 100 },
  ocvKnotV: { name: 'Open-circuit curve', unit: 'mV', by: 1000 },
};

/** Why a resistance between source and cells is not determined. */
export const supplyReasonWords = {
  'not-logged': 'not logged',
  'current-hardly-changes': 'the current hardly changes, so offset and resistance are one',
  'no-converter': 'the study has no converter',
} as const;
