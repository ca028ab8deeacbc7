import type { ChargeLogResult } from './chargeLogResult.ts';

type Estimate = NonNullable<ChargeLogResult['fit']>['estimates'][number];

/** How a fitted parameter is shown: its name, the unit shown, and the factor from the stored unit to it. */
export interface ShownParameter {
  readonly name: string;
  readonly unit: string;
  readonly by: number;
}

/** Names and units of what is fitted from measured charges, for the command and the pages. */
export const chargeLogParameters: Readonly<Record<Estimate['quantity'], ShownParameter>> = {
  capacityAh: { name: 'Capacity', unit: 'Ah', by: 1 },
  startSoc: { name: 'Start SOC', unit: '%', by: 100 },
  r0Factor: { name: 'R0, of that in the study', unit: '%', by: 100 },
  branchFactor: { name: 'RC branches, of those in the study', unit: '%', by: 100 },
  slowOhm: { name: 'Slow branch', unit: 'mΩ', by: 1000 },
  slowTauS: { name: 'Time constant of the slow branch', unit: 's', by: 1 },
  voltageOffsetV: { name: 'Offset of the voltage channel', unit: 'mV', by: 1000 },
  currentOffsetA: { name: 'Offset of the current channel', unit: 'mA', by: 1000 },
  edgeFraction: { name: 'Moment of a current step', unit: '% of its interval', by: 100 },
  heatCapacityJPerK: { name: 'Heat capacity', unit: 'J/K', by: 1 },
  heatTransferWPerK: { name: 'Heat transfer to the surroundings', unit: 'W/K', by: 1 },
  ocvKnotV: { name: 'Open-circuit curve', unit: 'mV', by: 1000 },
};

/** The verdict of the whole fit. */
export const fitVerdicts: Readonly<Record<NonNullable<ChargeLogResult['fit']>['verdict'], string>> = {
  'explains-the-log': 'the study with these values explains the log',
  'does-not-explain-the-log': 'the study does not explain the log, also with these values',
};
