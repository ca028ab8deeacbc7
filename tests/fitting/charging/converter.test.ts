import { describe, expect, it } from 'vitest';
import { fitRatioStage } from '../../../fitting/charging/fitRatioStage.ts';
import { equalPaths, RatioModel, type RatioStage } from '../../../fitting/charging/ratioStage.ts';
import { simulateCharge } from '../../../fitting/charging/simulateCharge.ts';
import type { Supply } from '../../../fitting/charging/supply.ts';
import { SupplyModel } from '../../../fitting/charging/supplyModel.ts';
import { charged, linearCell, setupOf } from './builders.ts';

const source = {
  minVoltageV: 0,
  maxVoltageV: 21,
  maxCurrentA: 6,
  maxPowerW: null,
  voltageStepV: 0.02,
  currentStepA: 0.05,
};
const stage = (more: Partial<RatioStage> = {}): RatioStage => ({
  ratio: 2,
  paths: equalPaths(1, 20),
  efficiency: null,
  minStackVoltageV: 0,
  minOutputCurrentA: 0,
  ...more,
});
/** 20 mΩ and 60 mΩ side by side share 3 : 1 and are 15 mΩ together. */
const unequal = [
  { maxCurrentA: 6, outputResistanceOhm: 0.02, fixedLossCurrentA: 0.01 },
  { maxCurrentA: 4, outputResistanceOhm: 0.06, fixedLossCurrentA: 0.03 },
];
const supplyOf = (ratioStage: RatioStage | null, more: Partial<Supply> = {}): Supply => ({
  source,
  cable: { resistanceOhm: 0.05, maxCurrentA: null },
  ratioStage,
  regulator: null,
  ...more,
});
const twoCells = (soc = 0.2) => [charged(linearCell(5, 0.02), soc), charged(linearCell(5, 0.02), soc)];
const chargeAt = (currentA: number, supply: Supply, more = {}) =>
  simulateCharge(setupOf(twoCells(), { supply, stages: [{ currentA, until: null }], ...more }));

describe('the fixed-ratio converter by its output resistance and fixed loss', () => {
  it('follows a hand calculation for paths that share unequally', () => {
    const model = new RatioModel(stage({ paths: unequal }));
    expect(model.shares[0]).toBeCloseTo(0.75, 12);
    expect(model.outputOhm).toBeCloseTo(0.015, 12);
    // 8 A: 6 A and 2 A. Each path drops 0.12 V; the bus is 2 × (7.6 + 0.12) V and 4 A + 40 mA.
    expect(model.inputVoltage(8, 7.6)).toBeCloseTo(15.44, 12);
    expect(model.inputCurrent(8)).toBeCloseTo(4.04, 12);
    expect(model.outputCurrent(4.04)).toBeCloseTo(8, 12);
    // The first path is full at 8 A of the whole, where the other carries 2 of its 4 A.
    expect(model.firstPathLimit()).toEqual({ path: 0, currentA: 8 });
    const charge = chargeAt(12, supplyOf(stage({ paths: unequal })));
    expect(charge.limits[0]).toMatchObject({ limit: 'converter-current', path: 0, cell: null });
    const start = charge.operatingPoints[0];
    // 8 A are a bus current of 4.04 A; the source is set to 4.00 A, whose output is 2 × (4 − 0.04) A.
    expect(start.busCurrentA).toBeCloseTo(4, 9);
    expect(start.stackCurrentA).toBeCloseTo(7.92, 9);
    expect(start.pathCurrentsA?.[0]).toBeCloseTo(5.94, 9);
    expect(start.pathCurrentsA?.[1]).toBeCloseTo(1.98, 9);
    const heat = 0.02 * 5.94 ** 2 + 0.06 * 1.98 ** 2;
    const fixedW = 0.04 * 2 * (start.stackVoltageV + 0.015 * 7.92);
    expect(start.power.converterLossW).toBeCloseTo(heat + fixedW, 9);
    expect(Math.abs(charge.energy.balanceErrorRelative ?? 1)).toBeLessThan(1e-9);
  });

  it('0.3 W lost at no load leave the bus at twice the stack and no source is refused for it', () => {
    const idle = stage({ paths: equalPaths(1, 20, 0.02, 0.3 / 16.74) });
    const bus = { sourceV: 0, converterV: 0, currentA: 0 };
    const model = new SupplyModel(supplyOf(idle), 0);
    model.bus('ratio', 0, 8.37, bus);
    expect(bus.converterV).toBeCloseTo(16.74, 12);
    expect(bus.converterV * bus.currentA).toBeCloseTo(0.3, 9);
    const low = supplyOf(idle, { source: { ...source, maxVoltageV: 17.6 } });
    expect(chargeAt(6, low).endReason).toBe('end-current');
  });

  it('two measured operating points set it, by inputs or by efficiencies', () => {
    const truth = new RatioModel(stage({ paths: equalPaths(1, 20, 0.018, 0.025) }));
    const outputs = [
      { outputVoltageV: 7.2, outputCurrentA: 2 },
      { outputVoltageV: 7.9, outputCurrentA: 9 },
    ];
    const byInput = outputs.map((out) => ({
      ...out,
      inputVoltageV: truth.inputVoltage(out.outputCurrentA, out.outputVoltageV),
      inputCurrentA: truth.inputCurrent(out.outputCurrentA),
    }));
    const byEfficiency = byInput.map(({ inputVoltageV, inputCurrentA, ...out }) => ({
      ...out,
      efficiency: (out.outputVoltageV * out.outputCurrentA) / (inputVoltageV * inputCurrentA),
    }));
    for (const points of [byInput, byEfficiency]) {
      const fitted = fitRatioStage(2, points);
      expect(fitted.outputResistanceOhm).toBeCloseTo(0.018, 9);
      expect(fitted.fixedLossCurrentA).toBeCloseTo(0.025, 9);
    }
    expect(() => fitRatioStage(2, byInput.slice(0, 1))).toThrow('two or more are needed');
    expect(() => fitRatioStage(2, [byInput[0], { ...byInput[0] }])).toThrow('must differ by a tenth or more');
    expect(() =>
      fitRatioStage(
        2,
        byInput.map((p) => ({ ...p, inputVoltageV: 14 })),
      ),
    ).toThrow('output resistance of');
  });

  it('resistance between charger and cells drops its voltage and turns into heat: 10 mΩ at 12 A are 0.12 V and 1.44 W', () => {
    const cells = () => [charged(linearCell(20, 0.002), 0.1), charged(linearCell(20, 0.002), 0.1)];
    const at = (toSenseOhm: number, beyondSenseOhm: number) =>
      simulateCharge(
        setupOf(cells(), {
          stages: [{ currentA: 12, until: null }],
          endCurrentA: 1,
          supply: supplyOf(stage({ ratio: 2 }), {
            cable: { resistanceOhm: 0, maxCurrentA: null },
            source: { ...source, maxCurrentA: 7 },
          }),
          stackResistance: { toSenseOhm, beyondSenseOhm },
        }),
      );
    const [none, outside, inside] = [at(0, 0), at(0.01, 0), at(0, 0.01)];
    const [p0, p1] = [none.operatingPoints[0], outside.operatingPoints[0]];
    expect((p1.busVoltageV ?? 0) - (p0.busVoltageV ?? 0)).toBeCloseTo(2 * 0.12, 9);
    expect(p1.power.stackResistanceLossW).toBeCloseTo(1.44, 9);
    // Sensed at the cells it changes nothing for them; beyond the sense point it brings the voltage limit forward.
    expect(outside.endTimeS).toBeCloseTo(none.endTimeS, 6);
    const limitAt = (charge: typeof none) =>
      charge.limits.find((l) => l.limit === 'cell-voltage')?.startTimeS ?? 0;
    // Each cell senses 5 mΩ × 12 A = 60 mV more, which is 0.06 / 0.8 of its SOC earlier: 20 Ah at 12 A.
    expect(limitAt(none) - limitAt(inside)).toBeCloseTo((0.06 / 0.8) * (20 / 12) * 3600, 4);
    expect(inside.operatingPoints.find((p) => p.moment === 'voltage-limit')?.stackVoltageV).toBeCloseTo(
      8.4 - 0.12,
      6,
    );
    for (const charge of [none, outside, inside])
      expect(Math.abs(charge.energy.balanceErrorRelative ?? 1)).toBeLessThan(1e-9);
    expect(outside.energy.stackResistanceLossWh).toBeGreaterThan(0.5);
  });

  it('the operating points hold the power of their moment, and its parts add up', () => {
    const charge = chargeAt(6, supplyOf(stage({ paths: equalPaths(2, 10, 0.03, 0.02) })), {
      stackResistance: { toSenseOhm: 0.004, beyondSenseOhm: 0.002 },
      seriesStepS: 100,
    });
    expect(charge.operatingPoints.map((p) => p.moment)).toEqual([
      'start',
      'peak-power',
      'voltage-limit',
      'end',
    ]);
    const series = charge.series?.power;
    const most = Math.max(...(series?.sourceW ?? []));
    const peak = charge.operatingPoints[1];
    expect(peak.power.sourceW).toBeGreaterThanOrEqual(most - 1e-9);
    expect(peak.power.sourceW).toBeLessThan(most * 1.01);
    for (const { power, busVoltageV, busCurrentA, busSetVoltageV } of charge.operatingPoints) {
      const { sourceW, cableLossW, converterLossW, stackResistanceLossW, cellLossW, bypassLossW, storedW } =
        power;
      expect(
        cableLossW + converterLossW + stackResistanceLossW + cellLossW + bypassLossW + storedW,
      ).toBeCloseTo(sourceW, 9);
      expect((busVoltageV ?? 0) * (busCurrentA ?? 0)).toBeCloseTo(sourceW, 9);
      const steps = (busSetVoltageV ?? 0) / 0.02;
      expect(steps).toBeCloseTo(Math.round(steps), 6);
      expect((busSetVoltageV ?? 0) - (busVoltageV ?? 0)).toBeGreaterThanOrEqual(-1e-9);
      expect((busSetVoltageV ?? 0) - (busVoltageV ?? 0)).toBeLessThan(0.02);
    }
  });
});

describe('source, converter and regulator in turn', () => {
  const regulator = {
    kind: 'step-down' as const,
    maxOutputCurrentA: 2,
    efficiency: 0.93,
    inputVoltageV: 9,
    headroomV: 0.2,
  };

  it('a source too low for the fixed ratio leaves the charge to the regulator', () => {
    const low = { ...source, maxVoltageV: 12 };
    const charge = chargeAt(4, supplyOf(stage(), { source: low, regulator }));
    expect(charge.endReason).toBe('end-current');
    expect(charge.phases.every((phase) => phase.converterMode === 'regulator')).toBe(true);
    // 2 A from 20 % on; 4.2 V − 2 A × 20 mΩ is met at 95 %.
    expect(charge.phases[0].endTimeS).toBeCloseTo(0.75 * 5 * 1800, 4);
  });

  it('a source that becomes too low while charging hands over when the regulator gives more', () => {
    const low = { ...source, maxVoltageV: 16.5 };
    const charge = chargeAt(6, supplyOf(stage(), { source: low, regulator }));
    const limited = charge.phases.find((phase) => phase.kind === 'source-limited');
    expect(limited?.converterMode).toBe('ratio');
    expect(limited?.endCurrentA).toBeCloseTo(2, 2);
    expect(charge.phases.at(-1)?.converterMode).toBe('regulator');
    expect(charge.endReason).toBe('end-current');
  });

  it('a step-up regulator charges from a bus below the stack; a step-down one cannot, and says so', () => {
    const five = { ...source, minVoltageV: 3, maxVoltageV: 5.5 };
    const from5 = { ...regulator, inputVoltageV: 5 };
    const up = chargeAt(4, supplyOf(null, { source: five, regulator: { ...from5, kind: 'step-up' } }));
    expect(up.endReason).toBe('end-current');
    expect(up.operatingPoints[0].busVoltageV).toBe(5);
    expect(up.operatingPoints[0].stackVoltageV).toBeGreaterThan(7);
    const down = chargeAt(4, supplyOf(null, { source: five, regulator: from5 }), { seriesStepS: 60 });
    expect(down).toMatchObject({ endReason: 'bus-voltage-too-low', endTimeS: 0 });
    // Never begun: the cells stand at their open-circuit voltage, 3.4 + 0.8 × 0.2 V.
    expect(down.cells[0].endVoltageV).toBeCloseTo(3.56, 12);
    expect(down.series?.cells[0].voltageV).toEqual([3.56]);
    expect(down.series?.currentA).toEqual([0]);
    expect(down.operatingPoints).toEqual([]);
    const above = { ...regulator, kind: 'step-up' as const, inputVoltageV: 9 };
    expect(chargeAt(4, supplyOf(null, { regulator: above })).endReason).toBe('bus-voltage-too-high');
  });

  it('a source that cannot be set low enough is a limit with a name', () => {
    const high = { ...source, minVoltageV: 16 };
    const charge = chargeAt(4, supplyOf(stage(), { source: high }));
    expect(charge).toMatchObject({ endReason: 'bus-voltage-too-high', endTimeS: 0 });
    // With a regulator that one charges until the stack is at half of 16 V, then the fixed ratio takes over.
    const both = chargeAt(
      4,
      supplyOf(stage(), { source: high, regulator: { ...regulator, inputVoltageV: 16 } }),
    );
    expect(both.endReason).toBe('end-current');
    expect(both.phases.map((phase) => phase.converterMode).slice(0, 2)).toEqual(['regulator', 'ratio']);
    const handover = both.phases[0].endTimeS;
    // 2 × (3.4 + 0.8 z + 2 A × 20 mΩ) = 8 V.
    expect(handover).toBeCloseTo((((4 - 0.04 - 3.4) / 0.8 - 0.2) * 5 * 3600) / 2, 3);
  });

  it('every limit is reported under its own name', () => {
    const weak = { ...source, currentStepA: null };
    const strong = { ...regulator, maxOutputCurrentA: 5, inputVoltageV: 9 };
    const cases: [string, Supply][] = [
      ['source-current', supplyOf(stage(), { source: { ...weak, maxCurrentA: 1 } })],
      ['cable-current', supplyOf(stage(), { cable: { resistanceOhm: 0.05, maxCurrentA: 1 } })],
      ['converter-current', supplyOf(stage({ paths: equalPaths(1, 2) }))],
      ['source-power', supplyOf(stage(), { source: { ...weak, maxPowerW: 20 } })],
      ['source-voltage', supplyOf(stage(), { source: { ...weak, maxVoltageV: 14.5 } })],
      ['regulator-current', supplyOf(null, { regulator })],
      ['source-current', supplyOf(null, { regulator: strong, source: { ...weak, maxCurrentA: 1 } })],
      [
        'cable-current',
        supplyOf(null, { regulator: strong, cable: { resistanceOhm: 0.05, maxCurrentA: 1 } }),
      ],
      ['source-power', supplyOf(null, { regulator: strong, source: { ...weak, maxPowerW: 9 } })],
      ['stage-current', supplyOf(stage())],
    ];
    for (const [limit, supply] of cases) {
      const asked = limit === 'stage-current' ? 1 : 6;
      expect(chargeAt(asked, supply).limits[0].limit, limit).toBe(limit);
    }
  });

  it('a regulator is set to a whole number of the source’s steps', () => {
    const odd = { ...regulator, inputVoltageV: 9.013 };
    expect(() => chargeAt(2, supplyOf(null, { regulator: odd }))).toThrow(
      'converter.regulator.inputVoltageV is 9.013; the source is set in steps of 0.02 V, the nearest is 9.02',
    );
  });
});
