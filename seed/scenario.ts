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

/** Open-circuit voltage of the invented cell in V; SOC 0…1. Rises everywhere. */
export function openCircuitV(soc: number): number {
  const z = Math.min(1, Math.max(0, soc));
  return 3.46 + 0.6 * z + 0.14 * z ** 6 - 0.46 * Math.exp(-22 * z) - 0.06 * Math.exp(-6 * z);
}
