import type { WarningSign } from '../../../server/contract/lots.ts';
import { say } from './i18n.ts';

/** Why a cell is never offered for pairing. */
export const signWords: Readonly<Record<WarningSign['code'], string>> = {
  'deep-discharge': say('words.onceDischargedFarBelowItsCut'),
  'voltage-drift': say('words.losesVoltageAtRestFasterThan'),
  'low-ocv': say('words.deliveredAtAVoltageBelowThat'),
  'damage-noted': say('words.damageOrMisuseIsNotedWith'),
  'stack-drift': say('words.itsChargeDriftsAwayFromThat'),
};
