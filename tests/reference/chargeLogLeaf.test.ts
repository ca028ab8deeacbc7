import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type ChargeLogResult, chargeLogResult } from '../../server/contract/chargeLogResult.ts';
import { draftChargeStudy } from '../../server/use-cases/charging/draftChargeStudy.ts';
import { isMissing } from '../support/required.ts';
import { runEvaluateCharge } from '../support/runEvaluateCharge.ts';
import { openTestApp } from '../support/testApp.ts';
import { LEAF_CAPACITY_AH, leafPresent, makeLeafLot, splitLeaf, takeLeafPulses } from './leafRecords.ts';

/**
 * The charge at the start of a real record fitted as a log, and the charge of another temperature predicted with what it gave
 * (source: `leafRecords.ts`). The study is drafted from the pulses at both temperatures, which are its law of temperature.
 */
describe.skipIf(isMissing('the 33 Ah records', leafPresent, 'see shared/datasets'))(
  'the fit of a real charge at 25 °C',
  () => {
    let folder: string;
    let fitted: ChargeLogResult;
    const evaluated = async (...words: string[]): Promise<ChargeLogResult> => {
      const { code, out, err } = await runEvaluateCharge(...words, '--json');
      expect(code, err).toBe(0);
      return chargeLogResult.parse(JSON.parse(out));
    };
    beforeAll(async () => {
      folder = mkdtempSync(join(tmpdir(), 'gemel-leaf-'));
      const test = await openTestApp();
      const lot = await makeLeafLot(test.context);
      await takeLeafPulses(test.context, lot, 'P', 25);
      const cellId = await takeLeafPulses(test.context, lot, 'P', 10);
      const { description } = await draftChargeStudy(test.context, { cellIds: [cellId] });
      await test.close();
      writeFileSync(join(folder, 'study.json'), JSON.stringify(description));
      for (const temperatureC of [25, 10])
        writeFileSync(join(folder, `${temperatureC}.csv`), splitLeaf(temperatureC).log);
      fitted = await evaluated(
        join(folder, '25.csv'),
        ...['--study', join(folder, 'study.json'), '--fit', 'start-soc,r0,branches', '--from', '60'],
        ...['--study-out', join(folder, 'fitted.json')],
      );
    });
    afterAll(() => rmSync(folder, { recursive: true }));

    it('explains the voltage within 5 mV rms after the first minute', () => {
      const { fit } = fitted;
      expect(fit?.converged).toBe(true);
      expect(fit?.verdict).toBe('explains-the-log');
      expect(fit?.after[0].rmsV).toBeLessThan(0.005);
    });

    it('finds the start SOC that the counter of the record gives, within its interval', () => {
      // The pulses after this charge begin at SOC 1 by statement.
      const truth = 1 - splitLeaf(25).chargeAh / LEAF_CAPACITY_AH;
      const start = fitted.fit?.estimates.find(({ quantity }) => quantity === 'startSoc');
      expect(start?.low).toBeLessThan(truth);
      expect(start?.high).toBeGreaterThan(truth);
    });

    it('says that a charge at one current, logged from its first minute on, does not determine R0', () => {
      const r0 = fitted.fit?.estimates.find(({ quantity }) => quantity === 'r0Factor');
      expect(r0).toMatchObject({ low: null, high: null, standardError: null, reason: 'held-at-study' });
      expect(r0?.value).toBeCloseTo(1, 1);
      expect(fitted.comparison.verdict.join(' ')).toMatch(/does not determine R0 of P/);
    });

    it('predicts the time of the charge at 10 °C within 2 %', async () => {
      const { comparison, warnings } = await evaluated(
        join(folder, '10.csv'),
        ...['--study', join(folder, 'fitted.json'), '--ambient-temperature', '10'],
      );
      const { measured, computed } = comparison.timesS.end;
      expect(measured).toBeGreaterThan(12_000);
      expect(Math.abs((computed ?? 0) / (measured ?? 1) - 1)).toBeLessThan(0.02);
      // This charge began emptier than the other: the start SOC is uncertain, and it says so.
      expect(warnings.join(' ')).toMatch(/starts at 3\.\d+ V, below its open-circuit curve/);
    });
  },
);
