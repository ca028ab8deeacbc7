import { describe, expect, it } from 'vitest';
import type { Measurement } from '../../server/contract/measurements.ts';
import { besideImpedance, r0AboveImpedance, r0Contains } from '../../web/src/words/r0.ts';
import { pulseRecord } from '../server/pulseRecordFixture.ts';
import { newMeasurement } from '../support/measurement.ts';

const units = { resistance: 'mΩ', capacity: 'Ah' } as const;
const result = pulseRecord(1);
const socs = result.pulses.map((pulse) => pulse.socBefore as number);
const r0 = (index: number): number => result.pulses[index].circuit?.r0Ohm ?? Number.NaN;

function impedance(change: Partial<Measurement>): Measurement {
  const stored = newMeasurement(1, { quantity: 'impedance-1khz', value: 0.02, unit: 'Ohm', reason: null });
  return { ...stored, id: 1, createdAt: '2026-01-01T00:00:00Z', supersededAt: null, ...change };
}

describe('besideImpedance(result, measurements)', () => {
  it('takes the pulse at the same state of charge, and none where there is none', () => {
    const pairs = besideImpedance(result, [impedance({ soc: socs[1] + 0.02, value: r0(1) / 1.34 })]);
    expect(pairs).toHaveLength(1);
    expect(pairs[0].soc).toBe(socs[1]);
    expect(pairs[0].above).toBeCloseTo(0.34, 12);
    expect(besideImpedance(result, [impedance({ soc: socs[0] - 0.06 })])).toEqual([]);
  });

  it('leaves out superseded and excluded values, other quantities, and other temperatures', () => {
    const soc = socs[1];
    expect(
      besideImpedance(result, [
        impedance({ soc, supersededAt: '2026-01-02T00:00:00Z' }),
        impedance({ soc, excludedReason: 'outlier' }),
        impedance({ soc, quantity: 'rdc' }),
        impedance({ soc, value: null }),
        impedance({ soc, temperatureC: (result.pulses[1].temperatureC ?? 25) + 6 }),
      ]),
    ).toEqual([]);
  });

  it('takes the pulse nearest to half charge where the value does not say at which state of charge it was taken', () => {
    const [pair] = besideImpedance(result, [impedance({})]);
    const nearest = socs.reduce((best, soc) => (Math.abs(soc - 0.5) < Math.abs(best - 0.5) ? soc : best));
    expect(pair.soc).toBe(nearest);
  });
});

describe('the sentences on R0', () => {
  it('say how quick the processes are that R0 contains', () => {
    expect(r0Contains(result)).toMatch(/time constant below 0\.10 s:/);
    expect(r0Contains({ ...result, pulses: [] })).toBeNull();
  });

  it('say how far R0 is above |Z| at 1 kHz, at one state of charge and at several', () => {
    const at = (index: number, factor: number): Measurement =>
      impedance({ soc: socs[index], value: r0(index) / factor });
    const one = r0AboveImpedance(besideImpedance(result, [at(1, 1.34)]), units);
    expect(one).toContain('34 % higher');
    expect(one).toContain('charge transfer');
    const several = r0AboveImpedance(besideImpedance(result, [at(1, 1.34), at(2, 1.8)]), units);
    expect(several).toContain('34 % higher');
    expect(several).toContain('80 % higher');
    expect(several).toContain('2 values');
    expect(r0AboveImpedance([], units)).toBeNull();
  });

  it('do not explain by charge transfer what contacts or another state of the cell must be', () => {
    const low = r0AboveImpedance(
      besideImpedance(result, [impedance({ soc: socs[1], value: r0(1) / 0.9 })]),
      units,
    );
    expect(low).toContain('10 % lower');
    expect(low).toContain('contacts');
  });
});
