import type { ChargeRateEntry } from '../../../server/contract/chargeRates.ts';
import type { ChargeLimitName, ChargeStudyResult } from '../../../server/contract/chargeStudyResult.ts';
import { say } from './i18n.ts';

export const limitWords: Readonly<Record<ChargeLimitName, string>> = {
  'stage-current': say('words.currentOfTheStage'),
  'precharge-current': say('words.prechargeCurrent'),
  'cell-rating': say('words.datasheetRatingOfACell'),
  'zone-current': say('words.currentOfTheTemperatureZone'),
  'zone-no-charge': say('words.temperatureZoneNoCharge'),
  'cell-voltage': say('words.voltageLimitOfACell'),
  'zone-voltage': say('words.voltageOfTheTemperatureZone'),
  'stack-voltage': say('words.voltageLimitOfTheStack'),
  'source-current': say('words.currentOfTheSource'),
  'source-power': say('words.powerOfTheSource'),
  'source-voltage': say('words.voltageOfTheSource'),
  'cable-current': say('words.currentOfTheCable'),
  'converter-current': say('words.currentOfTheConverter'),
  'regulator-current': say('words.currentOfTheRegulator'),
  temperature: say('words.temperature'),
  rest: 'rest',
};

export const endWords: Readonly<Record<ChargeStudyResult['endReason'], string>> = {
  'end-current': say('words.theCurrentAtTheVoltageLimit'),
  'bypass-exceeds-end-current': say('words.noCellTakesMoreThanThe'),
  temperature: say('words.aCellBecameTooHot'),
  'outside-temperature-window': say('words.outsideTheTemperatureWindowDoNot'),
  'max-duration': say('words.theLongestAllowedTimeWasOver'),
  'bus-voltage-too-low': say('words.theSourceCannotReachTheVoltage'),
  'bus-voltage-too-high': say('words.theSourceCannotBeSetAs'),
  'supply-below-end-current': say('words.sourceCableOrConverterCarryLess'),
  'zone-voltage-reached': say('words.chargedToTheVoltageThatThe'),
  'solver-stalled': say('words.theComputationCouldNotGoOn'),
};

export const momentWords: Readonly<Record<ChargeStudyResult['operatingPoints'][number]['moment'], string>> = {
  start: say('words.start'),
  'peak-power': say('words.peakPower'),
  'voltage-limit': say('words.voltageLimitReached'),
  end: say('words.end'),
};

export const bindingWords: Readonly<Record<NonNullable<ChargeStudyResult['rateSearch']>['binding'], string>> =
  {
    'datasheet-rating': say('words.theDatasheetSRating'),
    'asked-maximum': say('words.theHighestRateThatWasAsked'),
    temperature: say('words.theTemperatureLimit'),
    'soc-at-voltage-limit': say('words.theSocAtWhichTheVoltage'),
    'zone-current': say('words.theCurrentOfTheTemperatureZone'),
    source: say('words.whatSourceCableAndConverterCan'),
    'none-feasible': say('words.nothingEvenTheLowestRateBreaks'),
    'outside-temperature-window': say('words.theTemperatureWindow'),
  };

/** What bounds a rate of a cell type or a chemistry. */
export const rateBindingWords: Readonly<Record<NonNullable<ChargeRateEntry['binding']>, string>> = {
  ...bindingWords,
  'usual-rate': say('words.theUsualRateOfTheChemistry'),
};
