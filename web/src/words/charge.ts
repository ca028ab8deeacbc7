import type { ChargeRateEntry } from '../../../server/contract/chargeRates.ts';
import type { ChargeLimitName, ChargeStudyResult } from '../../../server/contract/chargeStudyResult.ts';

export const limitWords: Readonly<Record<ChargeLimitName, string>> = {
  'stage-current': 'current of the stage',
  'precharge-current': 'precharge current',
  'cell-rating': 'datasheet rating of a cell',
  'zone-current': 'current of the temperature zone',
  'zone-no-charge': 'temperature zone: no charge',
  'cell-voltage': 'voltage limit of a cell',
  'zone-voltage': 'voltage of the temperature zone',
  'stack-voltage': 'voltage limit of the stack',
  'source-current': 'current of the source',
  'source-power': 'power of the source',
  'source-voltage': 'voltage of the source',
  'cable-current': 'current of the cable',
  'converter-current': 'current of the converter',
  'regulator-current': 'current of the regulator',
  temperature: 'temperature',
  rest: 'rest',
};

export const endWords: Readonly<Record<ChargeStudyResult['endReason'], string>> = {
  'end-current': 'The current at the voltage limit had fallen to the end current.',
  'bypass-exceeds-end-current':
    'No cell takes more than the end current any more; the bypasses alone keep the current above it.',
  temperature: 'A cell became too hot.',
  'outside-temperature-window': 'Outside the temperature window: do not charge.',
  'max-duration': 'The longest allowed time was over.',
  'bus-voltage-too-low': 'The source cannot reach the voltage that the stack needs.',
  'bus-voltage-too-high': 'The source cannot be set as low as the stack needs.',
  'supply-below-end-current': 'Source, cable or converter carry less than the end current.',
  'zone-voltage-reached':
    'Charged to the voltage that the temperature zone allows; in these surroundings the cell does not leave the zone.',
  'solver-stalled': 'The computation could not go on; what was found so far is shown.',
};

export const momentWords: Readonly<Record<ChargeStudyResult['operatingPoints'][number]['moment'], string>> = {
  start: 'Start',
  'peak-power': 'Peak power',
  'voltage-limit': 'Voltage limit reached',
  end: 'End',
};

export const bindingWords: Readonly<Record<NonNullable<ChargeStudyResult['rateSearch']>['binding'], string>> =
  {
    'datasheet-rating': 'the datasheet’s rating',
    'asked-maximum': 'the highest rate that was asked about',
    temperature: 'the temperature limit',
    'soc-at-voltage-limit': 'the SOC at which the voltage limit is met',
    'zone-current': 'the current of the temperature zone',
    source: 'what source, cable and converter can deliver',
    'none-feasible': 'nothing: even the lowest rate breaks a limit',
    'outside-temperature-window': 'the temperature window',
  };

/** What bounds a rate of a cell type or a chemistry. */
export const rateBindingWords: Readonly<Record<NonNullable<ChargeRateEntry['binding']>, string>> = {
  ...bindingWords,
  'usual-rate': 'the usual rate of the chemistry',
};
