import { describe, expect, it } from 'vitest';
import { evaluateScenario, scenarioCoverage } from '../support/pulseCoverage.ts';
import { pulseScenarios } from '../support/pulseScenarios.ts';

const named = (name: string) => {
  const found = pulseScenarios.find((one) => one.name === name);
  if (found === undefined) throw new Error(`There is no scenario ${name}`);
  return found;
};

// The whole table, 500 records of each scenario, is the bench `coverage`.
describe('95 % intervals of a pulse record, read and evaluated as the command does it', () => {
  it.each([
    ['rows 0.5 s, edge between rows', 60],
    ['rows 0.5 s, each edge elsewhere', 60],
    ['rows 1 s, edge between rows', 60],
    ['current averaged over 0.5 s', 60],
    ['current that settles with 0.15 s', 25],
    ['charge 40 s after a pulse', 25],
    ['pulse 20 s after 10 min of discharge', 20],
    ['second level at once', 20],
    ['drifting rest, earlier current not recorded', 20],
    ['steps of 1 mV and 5 mA', 25],
    ['OCV slope', 25],
    ['constant-phase truth', 20],
  ])('hold the truth: %s', async (name, records) => {
    const { quantities, said } = await scenarioCoverage(named(name), 1, records);
    const counts = Object.values(quantities);
    const covered = counts.reduce((sum, one) => sum + one.covered, 0);
    const reported = counts.reduce((sum, one) => sum + one.reported, 0);
    expect(reported).toBeGreaterThan(3 * records);
    expect(covered / reported).toBeGreaterThan(0.93);
    for (const one of counts.filter((each) => each.reported >= 20)) {
      // 3 standard deviations of so few records below 95 %.
      const least = 0.95 - 3 * Math.sqrt((0.95 * 0.05) / one.reported);
      expect(one.covered / one.reported).toBeGreaterThan(least);
    }
    expect(quantities['R(10 s)'].reported).toBe(records);
    expect(Object.keys(said).filter((text) => text.includes('voltage-limit'))).toEqual([]);
  });

  it('calls a circuit a fit only where the truth is none', async () => {
    const { said } = await scenarioCoverage(named('constant-phase truth'), 100, 10);
    expect(Object.keys(said).filter((text) => text.startsWith('fit adequate'))).toEqual([]);
  });

  it('states no uncertainty below what noise, resolution and sampling allow', async () => {
    for (const name of ['rows 1 s, edge at the row', 'steps of 1 mV and 5 mA', 'current offset of 10 mA']) {
      const scenario = named(name);
      const { intervalS, stepV = 0, noiseV } = scenario.bench;
      const { pulses } = await evaluateScenario(scenario, 7);
      expect(pulses).toHaveLength(1);
      for (const { currentA, resistances, circuit, firstResistance } of pulses) {
        const reading = Math.max(0.8 * noiseV, stepV / Math.sqrt(12)) / Math.abs(currentA);
        for (const { valueOhm, standardUncertaintyOhm } of [...resistances, firstResistance!]) {
          if (valueOhm !== null) expect(standardUncertaintyOhm).toBeGreaterThan(reading);
        }
        // R1/τ1 of the first branch may belong to R0 for as long as the rows leave the edge open.
        const open = (0.25 * intervalS * circuit!.r1Ohm!) / circuit!.tau1S!;
        expect(circuit!.r0StandardErrorOhm).toBeGreaterThan(open);
        expect(circuit!.r1StandardErrorOhm).toBeGreaterThan(open);
        expect(circuit!.conditional).toContainEqual({ parameter: 'r0Ohm', on: 'edge-moment' });
      }
    }
  });
});
