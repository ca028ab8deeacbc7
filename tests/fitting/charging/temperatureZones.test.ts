import { describe, expect, it } from 'vitest';
import { simulateCharge } from '../../../fitting/charging/simulateCharge.ts';
import { fillAxis, zoneAt, zoneExits } from '../../../fitting/charging/temperatureZones.ts';
import { charged, linearCell, setupOf } from './builders.ts';

const thermal = { heatCapacityJPerK: 47.5, heatTransferWPerK: 0.0418 };
const zone = (
  fromC: number,
  toC: number,
  maxCurrentA: number | null = null,
  maxVoltageV: number | null = null,
) => ({
  fromC,
  toC,
  maxCurrentA,
  maxVoltageV,
});
// Invented for the test: zones are configuration, none is built in.
const zones = [zone(0, 10, 0.5), zone(10, 30), zone(30, 45, 1, 4.1)];

describe('temperature zones', () => {
  it('cover the axis, with no charging in the gaps', () => {
    const axis = fillAxis([zone(0, 10), zone(20, 45)]);
    expect(axis.map((part) => part.charge)).toEqual([false, true, false, true, false]);
    expect(zoneAt(axis, -1)).toBe(0);
    expect(zoneAt(axis, 0)).toBe(1);
    expect(zoneAt(axis, 10)).toBe(1);
    expect(zoneAt(axis, 15)).toBe(2);
    expect(zoneAt(axis, 45)).toBe(3);
    expect(zoneAt(axis, 45.001)).toBe(4);
  });

  it('begin at once where they are stricter and with hysteresis where they are laxer', () => {
    const axis = fillAxis(zones);
    expect(zoneExits(axis, 2, 2)).toEqual({ upC: 30, downC: 10 });
    expect(zoneExits(axis, 3, 2)).toEqual({ upC: 45, downC: 28 });
    expect(zoneExits(axis, 1, 2)).toEqual({ upC: 12, downC: 0 });
  });

  it('refuse to overlap', () => {
    expect(() => fillAxis([zone(0, 20), zone(10, 45)])).toThrow(
      'overlaps the one before it, which ends at 20',
    );
    expect(() => fillAxis([zone(5, 5)])).toThrow('is empty');
  });

  it('lower current and voltage as a cell warms, and give them back when it has cooled', () => {
    const cell = charged(linearCell(2.5, 0.05, { thermal }), 0.1);
    const charge = simulateCharge(
      setupOf([cell], { zones, zoneHysteresisK: 2, stages: [{ currentA: 3, until: null }], seriesStepS: 5 }),
    );
    const named = charge.limits.map((stretch) => stretch.limit);
    expect(named).toContain('zone-current');
    expect(named.indexOf('stage-current')).toBe(0);
    expect(named.lastIndexOf('stage-current')).toBeGreaterThan(named.indexOf('zone-current'));
    expect(charge.cells[0].peakTemperatureC).toBeLessThan(30.0001);
    const hot = charge.limits.filter((stretch) => stretch.limit === 'zone-current');
    for (const stretch of hot) {
      const at = charge.series?.timeS.findIndex((time) => time > stretch.startTimeS) ?? -1;
      expect(charge.series?.currentA[at]).toBeCloseTo(1, 9);
    }
    expect(Math.abs(charge.energy.thermalBalanceErrorRelative ?? 1)).toBeLessThan(1e-8);
  });

  it('pause the charge where there is none, and go on after cooling', () => {
    const cell = charged(linearCell(2.5, 0.1, { thermal }), 0.1);
    const charge = simulateCharge(
      setupOf([cell], { zones: [zone(0, 32)], zoneHysteresisK: 3, stages: [{ currentA: 3, until: null }] }),
    );
    const kinds = charge.phases.map((phase) => phase.kind);
    expect(kinds).toContain('paused');
    expect(kinds.at(-1)).toBe('constant-voltage');
    expect(charge.endReason).toBe('end-current');
    expect(charge.cells[0].peakTemperatureC).toBeLessThan(32.0001);
  });

  it('allow no charge from a start outside them: none, not a small one', () => {
    const cell = charged(linearCell(2.5, 0.05, { thermal }), 0.1, { startTemperatureC: 50 });
    const charge = simulateCharge(setupOf([cell], { zones, ambientTemperatureC: 25 }));
    expect(charge.endReason).toBe('outside-temperature-window');
    expect(charge.endTimeS).toBe(0);
    expect(charge.phases).toEqual([]);
  });
});
