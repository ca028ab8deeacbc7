import { describe, expect, it } from 'vitest';
import { simulateCharge } from '../../fitting/charging/simulateCharge.ts';
import { chargeSetupOf } from '../../server/assess/charging/chargeSetupOf.ts';
import { type ChargeStudyInput, chargeStudyDescription } from '../../server/contract/chargeStudy.ts';
import { circuitSubjectOf } from '../../server/export/circuitSubject.ts';
import { spiceTestBench } from '../../server/export/spiceTestBench.ts';
import { studyBenchChargeOf, studyCircuitOf } from '../../server/export/studyCircuit.ts';
import { stackFixture } from '../server/exportFixture.ts';
import { isMissing } from '../support/required.ts';
import { ngspicePresent, runNgspice, vectorAt } from './spiceSupport.ts';

/** A study of the fixture's two cells: cold start in a warm room, limits of their own. */
function study(change: Partial<ChargeStudyInput> = {}) {
  const cells = circuitSubjectOf(stackFixture()).cells.map((cell, i) => ({
    ...cell,
    startSoc: [0.2, 0.12][i],
    startTemperatureC: [12, 15][i],
    datasheet: { ...cell.datasheet, maxVoltageV: [4.2, 4.15][i] },
  }));
  return chargeStudyDescription.parse({
    schemaVersion: 1,
    cells,
    stack: { ambientTemperatureC: 30 },
    phases: { stages: [{ rateC: 1.2 }], end: { currentA: 0.15 } },
    questions: { seriesStepS: 15 },
    ...change,
  });
}

describe.skipIf(isMissing('ngspice', ngspicePresent, 'apt-get install ngspice'))(
  'the test bench of a charge study in the real ngspice',
  () => {
    it('gives the voltages within 0.1 mV, the change-over within 0.1 s and the temperatures of the study', () => {
      const description = study();
      const ours = simulateCharge(chargeSetupOf(description).setup);
      const deck = spiceTestBench(
        studyCircuitOf('Plan "A"', description),
        studyBenchChargeOf(description, ours.endTimeS),
      );
      const run = runNgspice(deck, ['v(tap1)', 'v(pos)', 'v(tcell1)', 'v(tcell2)']);
      const { series } = ours;
      if (series === null) throw new Error('no series');
      const largest = (vector: string, values: ArrayLike<number>) =>
        Math.max(
          ...[...series.timeS].slice(1).map((t, i) => Math.abs(vectorAt(run, vector, t) - values[i + 1])),
        );
      expect(series.timeS.length).toBeGreaterThan(150);
      expect(largest('v(tap1)', series.cells[0].voltageV)).toBeLessThan(1e-4);
      expect(largest('v(pos)', series.stackVoltageV)).toBeLessThan(1e-4);
      expect(largest('v(tcell1)', series.cells[0].temperatureC)).toBeLessThan(2e-3);
      expect(largest('v(tcell2)', series.cells[1].temperatureC)).toBeLessThan(2e-3);
      const taper = ours.phases.find((phase) => phase.kind === 'constant-voltage');
      expect(Math.abs((run.measured.get('switch_s') ?? 0) - (taper?.startTimeS ?? Number.NaN))).toBeLessThan(
        0.1,
      );
    });
  },
);

describe('the test bench of a charge study', () => {
  it.each([
    ['two stages', { phases: { stages: [{ rateC: 1 }, { rateC: 0.5 }] } }, 'phases.stages: 2 stages'],
    ['zones of temperature', { temperatureZones: [{ fromC: 0, toC: 45 }] }, 'temperatureZones: zones'],
    ['a source', { source: { maxVoltageV: 20, maxCurrentA: 5 } }, 'source: described'],
    [
      'only the stack watched',
      { stack: { ambientTemperatureC: 25, watch: 'stack-only' as const } },
      'stack.watch: stack-only',
    ],
  ])('is refused with %s, which it does not have', (_, change, message) => {
    expect(() => studyBenchChargeOf(study(change), 3600)).toThrow(message);
  });
});
