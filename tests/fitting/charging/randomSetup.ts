import type { CellModel } from '../../../fitting/charging/cellModel.ts';
import type { ChargedCell, ChargeSetup } from '../../../fitting/charging/chargeSetup.ts';
import { equalPaths, type RatioStage } from '../../../fitting/charging/ratioStage.ts';
import type { Supply } from '../../../fitting/charging/supply.ts';
import { seededRandom } from '../../../fitting/statistics/random.ts';
import { charged, linearCell, row, setupOf } from './builders.ts';

type Draw = (low: number, high: number) => number;

/** A charge with everything at once: tables, zones, bypasses, supplies with limits, stages; the same for the same seed. */
export function randomSetup(seed: number): ChargeSetup {
  const random = seededRandom(seed);
  const between: Draw = (low, high) => low + (high - low) * random();
  const chance = (share: number) => random() < share;
  const ambientTemperatureC = between(2, 40);
  const count = 1 + Math.floor(3 * random());
  let before: ChargedCell | null = null;
  const cells = Array.from({ length: count }, () => {
    // Equal cells beside each other meet every switch at the same moment.
    const same: boolean = before !== null && chance(0.4);
    const cell: ChargedCell =
      same && before !== null ? before : randomCell(between, chance, ambientTemperatureC);
    before = cell;
    return cell;
  });
  const smallest = Math.min(...cells.map(({ cell }) => cell.model.capacityAh));
  const supply = chance(0.5) ? randomSupply(between, chance, count) : null;
  const stepped = supply?.ratioStage != null && supply.source.currentStepA !== null && chance(0.3);
  return setupOf(cells, {
    ambientTemperatureC,
    watch: chance(0.2) ? 'stack-only' : 'per-cell',
    zones: chance(0.4)
      ? [
          { fromC: 0, toC: 10, maxCurrentA: 0.5, maxVoltageV: null },
          { fromC: 10, toC: 30, maxCurrentA: null, maxVoltageV: null },
          { fromC: 30, toC: 60, maxCurrentA: 2, maxVoltageV: chance(0.5) ? 4.1 : null },
        ]
      : null,
    supply,
    taper: stepped ? 'stepped' : 'continuous',
    precharge: chance(0.3) ? { belowCellVoltageV: 3.3, currentA: 0.1 * smallest } : null,
    stages: [
      {
        currentA: between(0.3, 3) * smallest,
        until: {
          soc: 0.6,
          cellVoltageV: chance(0.5) ? 4.2 : null,
          temperatureC: chance(0.5) ? 35 : null,
          durationS: chance(0.2) ? 1200 : null,
        },
      },
      { currentA: between(0.2, 1) * smallest, until: null },
    ],
    endCurrentA: 0.05 * smallest,
    restAfterS: chance(0.3) ? 3600 : 0,
  });
}

function randomCell(between: Draw, chance: (share: number) => boolean, ambientC: number): ChargedCell {
  const soc = row(0, 0.1, 0.25, 0.5, 0.75, 0.9, 1);
  const temperatureC = chance(0.5) ? row(5, 25, 45) : row(25);
  const ocv = [3, 3.45, 3.6, 3.75, 3.95, 4.1, 4.19];
  const over = (value: (z: number, t: number, k: number) => number) =>
    row(...[...soc].flatMap((z, k) => [...temperatureC].map((t) => value(z, t, k))));
  const r0 = between(0.01, 0.06);
  const [rise, tau] = [between(0, 0.2), between(0.5, 500)];
  const model: Partial<CellModel> = {
    soc,
    temperatureC,
    ocv: {
      kind: 'table',
      values: over((_z, _t, k) => ocv[k]),
      interpolation: chance(0.5) ? 'linear' : 'pchip',
    },
    r0Ohm: over((z, t) => r0 * (1 + rise * (1 - z)) * Math.exp(-0.015 * (t - 25))),
    branches: chance(0.3)
      ? []
      : [
          {
            rOhm: over((_z, t) => (r0 / 3) * Math.exp(-0.02 * (t - 25))),
            tauS: over((z) => tau * (1 + 0.3 * z)),
          },
        ],
    thermal: chance(0.8) ? { heatCapacityJPerK: between(20, 90), heatTransferWPerK: between(0, 0.1) } : null,
    entropicVPerK: chance(0.5) ? null : over((z) => 1e-4 * (1 - 2 * z)),
  };
  const bypass = { startVoltageV: 4.05, stopVoltageV: 4.02, atRest: chance(0.5) };
  const kind = chance(0.5) ? ('resistor' as const) : ('current' as const);
  const value = kind === 'resistor' ? between(25, 80) : between(0.02, 0.15);
  return charged(linearCell(between(1, 5), r0, model), chance(0.3) ? 0.1 : between(0, 0.8), {
    startTemperatureC: chance(0.5) ? ambientC : between(2, 44),
    ratedCurrentA: between(2, 20),
    minTemperatureC: 0,
    maxTemperatureC: 60,
    bypass: chance(0.3) ? { kind, value, ...bypass } : null,
  });
}

function randomLosses(
  between: Draw,
  chance: (share: number) => boolean,
): Pick<RatioStage, 'paths' | 'efficiency'> {
  const count = 1 + Math.floor(between(0, 2));
  const maxCurrentA = between(3, 8);
  if (chance(0.4)) {
    const path = () => ({
      maxCurrentA,
      outputResistanceOhm: between(0.001, 0.03),
      fixedLossCurrentA: between(0, 0.02),
    });
    return { paths: Array.from({ length: count }, path), efficiency: null };
  }
  const table = { outputCurrentA: row(0, 3, 10), efficiency: row(0.9, 0.98, 0.96) };
  const of = chance(0.5) ? 'one-path' : 'all-paths';
  return {
    paths: equalPaths(count, maxCurrentA),
    efficiency: { efficiency: chance(0.5) ? 0.97 : table, of },
  };
}

function randomSupply(between: Draw, chance: (share: number) => boolean, cells: number): Supply {
  const withStage = chance(0.8);
  const ratio = withStage ? ([1, 2, 4] as const)[Math.floor(between(0, 3))] : 1;
  const maxVoltageV = between(1.03, 1.3) * ratio * cells * 4.3;
  return {
    source: {
      minVoltageV: 0,
      maxVoltageV,
      maxCurrentA: between(1, 5),
      maxPowerW: chance(0.3) ? between(10, 60) : null,
      voltageStepV: 0.02,
      currentStepA: chance(0.5) ? 0.05 : null,
    },
    cable: { resistanceOhm: between(0, 0.2), maxCurrentA: chance(0.5) ? 3 : null },
    ratioStage: withStage
      ? {
          ratio,
          ...randomLosses(between, chance),
          minStackVoltageV: cells * between(0, 3.4),
          minOutputCurrentA: between(0, 0.5),
        }
      : null,
    regulator: chance(0.6)
      ? {
          kind: 'step-down',
          maxOutputCurrentA: between(1, 3),
          efficiency: 0.9,
          inputVoltageV: Math.min(cells * 4.4, maxVoltageV - 0.03),
          headroomV: 0,
        }
      : null,
  };
}
