import { describe, expect, it } from 'vitest';
import { studyCharge } from '../../server/assess/charging/studyCharge.ts';
import { chargeStudyDescription } from '../../server/contract/chargeStudy.ts';
import { type ChargeLimitName, chargeLimitName } from '../../server/contract/chargeStudyResult.ts';

interface Changes {
  readonly cell?: object;
  readonly datasheet?: object;
  readonly stack?: object;
  readonly phases?: object;
  readonly rest?: object;
}

/**
 * Names of everything that limited the current in the charge of two cells of 2.5 Ah, in the order in which they did, and of
 * what ended it: a highest temperature ends a charge.
 */
function limitsOf({ cell = {}, datasheet = {}, stack = {}, phases = {}, rest = {} }: Changes): string[] {
  const one = (name: string) => ({
    name,
    capacityAh: 2.5,
    soc: [0, 1],
    ocvV: [3.4, 4.2],
    r0Ohm: 0.03,
    startSoc: 0.1,
    thermal: { heatCapacityJPerK: 40, heatTransferWPerK: 0.1 },
    ...cell,
    datasheet: {
      maxVoltageV: 4.2,
      maxChargeCurrentA: 5,
      minChargeTemperatureC: 0,
      maxChargeTemperatureC: 60,
      ...datasheet,
    },
  });
  const description = chargeStudyDescription.parse({
    schemaVersion: 1,
    cells: [one('A'), one('B')],
    stack: { ambientTemperatureC: 25, ...stack },
    phases: { stages: [{ currentA: 4 }], ...phases },
    ...rest,
  });
  const { limits, endReason } = studyCharge(description);
  return [...limits.map(({ limit }) => limit), endReason];
}

const halving = { ratio: 2, maxPathCurrentA: 6, outputResistanceOhm: 0.01, fixedLossCurrentA: 0.02 };
const converter = { ratioStage: halving };
const source = { maxVoltageV: 21, maxCurrentA: 5, maxPowerW: 100, minVoltageV: 5 };
const wide = { fromC: -10, toC: 55 };

/** For each name a charge in which it is what limits. */
const charges: Readonly<Record<ChargeLimitName, Changes>> = {
  'stage-current': {},
  'precharge-current': { phases: { precharge: { belowCellVoltageV: 3.6, currentA: 0.2 } } },
  'cell-rating': { datasheet: { maxChargeCurrentA: 3 } },
  'zone-current': { rest: { temperatureZones: [{ ...wide, maxCurrentA: 2 }] } },
  'zone-no-charge': {
    stack: { ambientTemperatureC: 30 },
    rest: {
      temperatureZones: [
        { fromC: 0, toC: 32, maxCurrentA: 4 },
        { fromC: 32, toC: 60, maxCurrentA: 0 },
      ],
    },
    cell: { thermal: { heatCapacityJPerK: 20, heatTransferWPerK: 0.1 } },
  },
  'cell-voltage': {},
  'zone-voltage': { rest: { temperatureZones: [{ ...wide, maxCellVoltageV: 4.05 }] } },
  'stack-voltage': { stack: { watch: 'stack-only', stackVoltageLimitV: 8.3 } },
  'source-current': { rest: { converter, source: { ...source, maxCurrentA: 1 } } },
  'source-power': { rest: { converter, source: { ...source, maxPowerW: 20 } } },
  'source-voltage': { rest: { converter, source: { ...source, maxVoltageV: 15.4 } } },
  'cable-current': { rest: { converter, source, cable: { resistanceOhm: 0.05, maxCurrentA: 1 } } },
  'converter-current': { rest: { converter: { ratioStage: { ...halving, maxPathCurrentA: 2 } }, source } },
  'regulator-current': {
    rest: {
      converter: { regulator: { maxOutputCurrentA: 2, inputVoltageV: 12, efficiency: 0.95 } },
      source,
    },
  },
  temperature: { stack: { maxTemperatureC: 27 } },
  rest: { phases: { restAfterS: 600 } },
};

describe('what limits the current of a charge', () => {
  it.each(chargeLimitName.options)('is reported as %s where it is', (name) => {
    expect(limitsOf(charges[name])).toContain(name);
  });

  it.each(
    chargeLimitName.options.filter((name) => !['stage-current', 'cell-voltage', 'rest'].includes(name)),
  )('is not reported as %s where it is not', (name) => {
    expect(limitsOf({})).not.toContain(name);
  });
});
