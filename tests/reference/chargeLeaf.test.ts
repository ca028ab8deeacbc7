import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { studyCharge } from '../../server/assess/charging/studyCharge.ts';
import { chargeStudyDescription } from '../../server/contract/chargeStudy.ts';
import { draftChargeStudy } from '../../server/use-cases/charging/draftChargeStudy.ts';
import { isMissing } from '../support/required.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { LEAF_CAPACITY_AH, leafPresent, makeLeafLot, splitLeaf, takeLeafPulses } from './leafRecords.ts';

/**
 * The measured charges of a 33 Ah pouch cell against studies drafted from the pulses of the same records (source: `leafRecords.ts`).
 * The record without its charge is imported, evaluated and drafted like any other; the charge is only compared with.
 */
describe.skipIf(isMissing('the 33 Ah records', leafPresent, 'see shared/datasets'))(
  'a drafted study against the measured charge',
  () => {
    let test: TestApp;
    let lot: string;
    beforeAll(async () => {
      test = await openTestApp();
      lot = await makeLeafLot(test.context);
    });
    afterAll(() => test.close());

    it.each([25, 10])(
      '%i °C: meets the voltage limit and ends within 2 percent of the measured times, within 15 mV rms',
      async (temperatureC) => {
        const { charge, chargeAh } = splitLeaf(temperatureC);
        const capacityAh = LEAF_CAPACITY_AH;
        const cellId = await takeLeafPulses(test.context, lot, `P${temperatureC}`, temperatureC);
        const { description, notes } = await draftChargeStudy(test.context, { cellIds: [cellId] });
        expect(notes.map((note) => note.message).join(' ')).toContain(
          'slow polarisation from the rests after long loads',
        );
        const [cell] = description.cells;
        // The fits of the pulses give R0 and branches with their correlation: what one gains the other loses.
        expect(cell.uncertainty?.r0Relative).toBeGreaterThan(0);
        expect(cell.uncertainty?.branchRelative).toBeGreaterThan(cell.uncertainty?.r0Relative ?? 1);
        expect(Math.abs(cell.uncertainty?.r0BranchCorrelation ?? 0)).toBeGreaterThan(0.05);
        expect(Math.abs(cell.uncertainty?.r0BranchCorrelation ?? 9)).toBeLessThanOrEqual(1);
        // Ten states of the pulses and of the rests, and what lies between, without doubles.
        expect(cell.soc.length).toBeLessThanOrEqual(12);
        const result = studyCharge(
          chargeStudyDescription.parse({
            ...description,
            cells: [{ ...cell, startSoc: Math.max(0, 1 - chargeAh / capacityAh) }],
            stack: { ambientTemperatureC: temperatureC },
            phases: { stages: [{ currentA: 10 }], end: { currentA: 0.5 } },
            questions: { seriesStepS: 20 },
          }),
        );
        const limitS =
          result.limits.find((stretch) => stretch.limit === 'cell-voltage')?.startTimeS ?? Number.NaN;
        const last = charge.currentA.findLastIndex((current) => current > 9.95);
        const slope =
          (charge.voltageV[last] - charge.voltageV[last - 2]) / (charge.timeS[last] - charge.timeS[last - 2]);
        const measuredLimitS = charge.timeS[last] + (4.2 - charge.voltageV[last]) / slope;
        const measuredEndS = charge.timeS[charge.timeS.length - 1];
        const { series } = result;
        const at = (time: number) => {
          const times = series?.timeS ?? [];
          const k = Math.min(
            Math.max(
              times.findIndex((t) => t >= time),
              1,
            ),
            times.length - 1,
          );
          const share = (time - times[k - 1]) / (times[k] - times[k - 1]);
          const v = series?.cells[0].voltageV ?? [];
          return v[k - 1] + share * (v[k] - v[k - 1]);
        };
        const kept = charge.timeS
          .map((time, i) => ({ time, v: charge.voltageV[i] }))
          .filter(({ time }) => time > 600 && time < Math.min(measuredEndS, result.endTimeS));
        const rms = Math.sqrt(kept.reduce((sum, { time, v }) => sum + (at(time) - v) ** 2, 0) / kept.length);
        console.info(
          `${temperatureC} °C: limit ${limitS.toFixed(0)} s (measured ${measuredLimitS.toFixed(0)}, ${(100 * (limitS / measuredLimitS - 1)).toFixed(2)} %), ` +
            `end ${result.endTimeS.toFixed(0)} s (measured ${measuredEndS.toFixed(0)}, ${(100 * (result.endTimeS / measuredEndS - 1)).toFixed(2)} %), rms ${(1000 * rms).toFixed(1)} mV`,
        );
        expect(kept.length).toBeGreaterThan(100);
        expect(Math.abs(result.endTimeS / measuredEndS - 1)).toBeLessThan(0.02);
        expect(Math.abs(limitS / measuredLimitS - 1)).toBeLessThan(0.02);
        expect(rms).toBeLessThan(0.015);
      },
    );
  },
);
