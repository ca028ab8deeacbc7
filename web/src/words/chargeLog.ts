import type { ChargeLogQuantity, ChargeLogResult } from '../../../server/contract/chargeLogResult.ts';
import type { ShownParameter } from '../../../server/contract/chargeLogWords.ts';
import { say } from './i18n.ts';

type Estimate = NonNullable<ChargeLogResult['fit']>['estimates'][number];

/** What can be fitted of a cell, in words. */
export const fitWords: Readonly<Record<ChargeLogQuantity, string>> = {
  capacity: say('words.capacity2'),
  'start-soc': say('words.startSoc'),
  r0: 'R0',
  branches: say('words.rcBranches'),
  'slow-branch': say('words.aSlowBranch'),
  heat: say('words.heatCapacityAndTransfer'),
};

/** How a fitted parameter is shown. */
export const parameterWords: Readonly<Record<Estimate['quantity'], ShownParameter>> = {
  capacityAh: { name: say('words.capacity'), unit: 'Ah', by: 1 },
  startSoc: { name: say('words.startSoc2'), unit: '%', by: 100 },
  r0Factor: { name: say('words.r0OfThatInTheStudy'), unit: '%', by: 100 },
  branchFactor: { name: say('words.rcBranchesOfThoseInThe'), unit: '%', by: 100 },
  slowOhm: { name: say('words.slowBranch'), unit: 'mΩ', by: 1000 },
  slowTauS: { name: say('words.timeConstantOfTheSlowBranch'), unit: 's', by: 1 },
  voltageOffsetV: { name: say('words.offsetOfTheVoltageChannel'), unit: 'mV', by: 1000 },
  currentOffsetA: { name: say('words.offsetOfTheCurrentChannel'), unit: 'mA', by: 1000 },
  edgeFraction: { name: say('words.momentOfACurrentStep'), unit: say('words.ofItsInterval'), by: 100 },
  heatCapacityJPerK: { name: say('words.heatCapacityOfTheCell'), unit: 'J/K', by: 1 },
  heatTransferWPerK: { name: say('words.heatTransferToTheSurroundings'), unit: 'W/K', by: 1 },
  ocvKnotV: { name: say('words.openCircuitCurve'), unit: 'mV', by: 1000 },
};
