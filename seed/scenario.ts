import { normal, uniformFrom } from './random.ts';

/**
 * The demonstration: everything here is invented. A lot of 48 pouch cells of about 2.2 Ah, with troubles planted in it.
 * Maker, part and lot exist nowhere else.
 */
export const scenario = {
  seed: 20_260_131,
  maker: 'Quillmere (invented)',
  cellType: 'QM-2200P',
  lot: 'QM-2200P delivery 7',
  receivedOn: '2026-01-12',
  cellCount: 48,
  ratedCapacityAh: 2.2,
  chargeVoltageLimitV: 4.2,
  dischargeCutoffV: 3.0,
  maxChargeCurrentA: 6.6,
  temperatureC: 25,
  /** Resistance of the fixture's contacts, which the two-wire pulse records contain. */
  fixtureOhm: 0.0012,
  fixtureUncertaintyOhm: 0.00015,
  /** By how much the contacts differ from one insertion of a cell to the next, as a standard deviation. */
  insertionOhm: 0.00008,
  /** The same of the four-wire probe of the 1 kHz meter, which only the place of its tips changes. */
  probeOhm: 0.000022,
  /**
   * Activation energies in J/mol. Electrolyte and contacts depend little on temperature and charge transfer much, as in
   * real cells; the figures are invented. The time constants follow less, because the capacitances fall in the cold.
   */
  activationJPerMol: { r0: 14_000, r1: 38_000, r2: 24_000, tau1: 18_000, tau2: 9_000 },
  /** Pulse tests beside those at 25 °C: what the chamber was set to, what it really was, and which cells were in it. */
  temperatureTests: [
    { setC: 10, realC: 10.3, cells: [1, 13, 16, 36] },
    { setC: 40, realC: 39.6, cells: [1, 13, 16, 36] },
    { setC: -10, realC: -9.6, cells: [1] },
  ],
  /** The cell whose open-circuit curve was taken by a slow charge and discharge, as its number in the lot. */
  slowTest: { number: 36, rateC: 0.05 },
  /** Cells that were put into the fixture and onto the 1 kHz meter again and again, and how often. */
  repeatedCells: [2, 8, 14, 20, 26, 32, 38, 44],
  repeats: 3,
} as const;

/** What a cell truly is; the tests compare with it what the product finds. */
export interface CellTruth {
  readonly serial: string;
  readonly capacityAh: number;
  readonly r0Ohm: number;
  readonly r1Ohm: number;
  readonly tau1S: number;
  readonly r2Ohm: number;
  readonly tau2S: number;
  readonly massG: number;
  readonly impedance1kHzOhm: number;
  /** Loss of open-circuit voltage in rest. */
  readonly driftMvPerDay: number;
  readonly planted: 'weak' | 'resistive' | 'drifting' | 'sign-swapped' | 'milliamperes' | null;
}

const planted: Readonly<Record<number, CellTruth['planted']>> = {
  9: 'milliamperes',
  17: 'weak',
  23: 'sign-swapped',
  31: 'resistive',
  40: 'drifting',
};

/** The truth of every cell of the lot, in the order of the serials. */
export function makeTruth(): CellTruth[] {
  return Array.from({ length: scenario.cellCount }, (_, index) => makeCell(index + 1));
}

function makeCell(number: number): CellTruth {
  const uniform = uniformFrom(scenario.seed + number);
  const trouble = planted[number] ?? null;
  // A resistive cell tends to be a little smaller, as in real lots; the rest of the spread is independent.
  const common = normal(uniform, 0, 1);
  const r0Ohm =
    0.0182 * (1 + 0.018 * common + 0.01 * normal(uniform, 0, 1)) * (trouble === 'resistive' ? 1.28 : 1);
  return {
    serial: `QM${String(number).padStart(3, '0')}`,
    capacityAh:
      2.236 * (1 - 0.002 * common + 0.0035 * normal(uniform, 0, 1)) * (trouble === 'weak' ? 0.93 : 1),
    r0Ohm,
    r1Ohm: 0.0064 * (1 + 0.03 * normal(uniform, 0, 1)),
    tau1S: 2.4 * (1 + 0.02 * normal(uniform, 0, 1)),
    r2Ohm: 0.0108 * (1 + 0.03 * normal(uniform, 0, 1)),
    tau2S: 52 * (1 + 0.02 * normal(uniform, 0, 1)),
    massG: normal(uniform, 41.6, 0.08),
    impedance1kHzOhm: r0Ohm * 0.86 * (1 + 0.004 * normal(uniform, 0, 1)),
    driftMvPerDay: trouble === 'drifting' ? -1.9 : -0.09 - 0.03 * Math.abs(normal(uniform, 0, 1)),
    planted: trouble,
  };
}

/** Open-circuit voltage of the invented cell in V; SOC 0…1. Rises everywhere; a little different at other temperatures. */
export function openCircuitV(soc: number, temperatureC: number = scenario.temperatureC): number {
  const z = Math.min(1, Math.max(0, soc));
  const at25C = 3.46 + 0.6 * z + 0.14 * z ** 6 - 0.46 * Math.exp(-22 * z) - 0.06 * Math.exp(-6 * z);
  return at25C + (0.000_25 * z - 0.000_1) * (temperatureC - 25);
}
