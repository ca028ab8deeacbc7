import { describe, expect, it } from 'vitest';
import { medianOf } from '../../fitting/numeric/median.ts';
import { type LoggedStep, stepTablePulses } from '../../fitting/resistance/stepTablePulses.ts';
import { tabledResistances } from '../support/pulseTableRow.ts';
import { readCsv } from '../support/readCsv.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

const folder = 'datasets/pulsebat-retired';

function tableOf(name: string): Record<string, string>[] {
  const { header, rows } = readCsv(sharedPath(`${folder}/${name}`));
  return rows.map((row) => Object.fromEntries(header.map((column, i) => [column, row[i]])));
}

// S. Tao et al., PulseBat data set, Nature Communications (2024), doi:10.1038/s41467-024-54454-0
describe.skipIf(sharedIsMissing(folder))('214 retired cells from pulse tables', () => {
  it.each([
    ['nmc_21Ah_pulse_table.csv', 52, 21, 1.83, 2.73],
    ['lmo_10Ah_pulse_table.csv', 95, 10, 6.78, 12.4],
    ['nmc_2p1Ah_pulse_table.csv', 67, 2.1, 15.0, 20.7],
  ])(
    '%s: %i cells of %d Ah, median %d mΩ at once and %d mΩ after 5 s at half charge',
    (name, cells, ampereHours, once, later) => {
      const rows = tableOf(name);
      const evaluated = rows.map((row) => ({
        cell: row.cell_id,
        soc: Number(row.soc_nominal_percent),
        ...tabledResistances({
          restVoltageV: Number(row.ocv_V),
          startVoltageV: Number(row.chg_0p5C_start_V),
          endVoltageV: Number(row.chg_0p5C_end_V),
          currentA: 0.5 * ampereHours,
        }),
      }));
      expect(new Set(evaluated.map((one) => one.cell)).size).toBe(cells);
      expect(evaluated).toHaveLength(10 * cells);
      expect(evaluated.every((one) => one.first !== null && one.end !== null && one.end > one.first)).toBe(
        true,
      );
      const half = evaluated.filter((one) => one.soc === 50);
      expect(half).toHaveLength(cells);
      const median = (pick: (one: (typeof half)[number]) => number | null) =>
        1000 * medianOf(half.map((one) => pick(one) as number));
      expect(Math.abs(median((one) => one.first) / once - 1)).toBeLessThan(0.005);
      expect(Math.abs(median((one) => one.end) / later - 1)).toBeLessThan(0.005);
    },
  );
});

function logOf(name: string): LoggedStep[] {
  return tableOf(name).map((row) => ({
    startTimeS: Number(row.start_time_s),
    durationS: Number(row.duration_s),
    startVoltageV: Number(row.start_voltage_V),
    endVoltageV: Number(row.end_voltage_V),
    startCurrentA: Number(row.start_current_A),
    endCurrentA: Number(row.end_current_A),
  }));
}

describe.skipIf(sharedIsMissing(folder))('step logs of retired cells', () => {
  const widths = [0.03, 0.05, 0.07, 0.1, 0.3, 0.5, 0.7, 1, 3, 5];

  it('gives the resistance at ten pulse widths, both signs, rising with the width', () => {
    const pulses = stepTablePulses(logOf('steps_nmc21_b6.csv'), 10);
    expect(pulses.length).toBeGreaterThanOrEqual(1790);
    expect(pulses.filter((pulse) => pulse.endedEarly)).toHaveLength(0);
    for (const direction of ['charge', 'discharge'] as const) {
      const medians = widths.map((width) => {
        const alike = pulses.filter((pulse) => pulse.direction === direction && pulse.durationS === width);
        expect(alike.length).toBeGreaterThanOrEqual(88);
        return medianOf(alike.map((pulse) => pulse.endResistanceOhm));
      });
      medians.forEach((ohm, i) => {
        if (i > 0) expect(ohm).toBeGreaterThan(medians[i - 1]);
      });
      expect(medians[9]).toBeGreaterThan(1e-3);
      expect(medians[9]).toBeLessThan(5e-3);
    }
  });

  it('tells exactly the 35 pulses that the instrument logged as ended by the voltage limit, and none else', () => {
    const name = 'steps_lmo10_b2.csv';
    const jumped = tableOf(name).flatMap((row, k) => (row.result === 'manual_jump' ? [k] : []));
    expect(jumped).toHaveLength(35);
    const pulses = stepTablePulses(logOf(name), 10);
    expect(pulses.filter((pulse) => pulse.endedByVoltageLimit).map((pulse) => pulse.step)).toEqual(jumped);
    const lowest = Math.min(...jumped.map((step) => logOf(name)[step].endVoltageV));
    expect(lowest).toBeCloseTo(4.3, 12);
    for (const pulse of pulses.filter((one) => one.endedByVoltageLimit)) {
      expect(pulse.endResistanceOhm).toBeGreaterThan(0);
      expect(widths).toContain(pulse.intendedDurationS);
    }
  });

  it('finds 31 of them shorter than meant, and four longer: the instrument acts some time after the limit is met', () => {
    const numbers = tableOf('steps_lmo10_b2.csv').map((row) => Number(row.step_number));
    const pulses = stepTablePulses(logOf('steps_lmo10_b2.csv'), 10);
    const early = pulses.filter((pulse) => pulse.endedEarly);
    expect(early).toHaveLength(31);
    expect(early.every((pulse) => pulse.endedByVoltageLimit)).toBe(true);
    const late = pulses.filter((pulse) => pulse.endedByVoltageLimit && !pulse.endedEarly);
    expect(late.map((pulse) => [numbers[pulse.step], pulse.intendedDurationS, pulse.durationS])).toEqual([
      [1902, 0.1, 0.17],
      [1918, 0.3, 0.34],
      [2084, 0.07, 0.14],
      [2104, 0.1, 0.14],
    ]);
    const shortest = Math.min(...early.map((pulse) => pulse.durationS));
    expect(shortest).toBe(0.14);
    // Meant for 5 s and ended after 0.68 s: as long as a pulse of 0.7 s, and told by the rests of 75 s around it.
    expect(early.find((pulse) => numbers[pulse.step] === 2018)).toMatchObject({
      durationS: 0.68,
      intendedDurationS: 5,
    });
  });
});
