import { existsSync, readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { studyCharge } from '../../server/assess/charging/studyCharge.ts';
import { chargeStudyDescription } from '../../server/contract/chargeStudy.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { draftChargeStudy } from '../../server/use-cases/charging/draftChargeStudy.ts';
import { evaluateTest } from '../../server/use-cases/evaluation/evaluateTest.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { makeLot } from '../support/basics.ts';
import { isMissing } from '../support/required.ts';
import { selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

/**
 * The measured charges of a 33 Ah pouch cell against studies drafted from the pulses of the same records: G. Wiggins,
 * S. Allu, H. Wang, Oak Ridge National Laboratory, doi:10.5281/zenodo.2580327 (MIT). The record without its charge is
 * imported, evaluated and drafted like any other; the charge is only compared with.
 */
const folder = new URL('../../../shared/datasets/leaf-33ah/', import.meta.url);
const present = existsSync(new URL('hppc_25degC.csv', folder));

interface Charge {
  readonly timeS: number[];
  readonly voltageV: number[];
  readonly currentA: number[];
}

/** The record split into its charge from empty to full and what follows. */
function split(temperatureC: number): { charge: Charge; chargeAh: number; pulses: string } {
  const [header, ...lines] = readFileSync(new URL(`hppc_${temperatureC}degC.csv`, folder), 'utf8')
    .trim()
    .split('\n');
  const rows = lines.map((line) => line.split(','));
  const isCharge = (row: string[]) => row[2] === 'CHRG' && row[1] === '4';
  const first = rows.findIndex(isCharge);
  const after = rows.findLastIndex(isCharge) + 1;
  const charge = rows.slice(first, after).map((row) => [row[0], row[4], row[3]].map(Number));
  const start = charge[0][0];
  let chargeAh = 0;
  for (let i = 1; i < charge.length; i++)
    chargeAh += ((charge[i][2] + charge[i - 1][2]) / 2) * ((charge[i][0] - charge[i - 1][0]) / 3600);
  return {
    charge: {
      timeS: charge.map(([time]) => time - start),
      voltageV: charge.map(([, voltage]) => voltage),
      currentA: charge.map(([, , current]) => current),
    },
    chargeAh,
    pulses: [header, ...lines.slice(after)].join('\n'),
  };
}

describe.skipIf(isMissing('the 33 Ah records', present, 'see shared/datasets'))(
  'a drafted study against the measured charge',
  () => {
    let test: TestApp;
    let lot: string;
    beforeAll(async () => {
      test = await openTestApp();
      ({
        lot: { name: lot },
      } = await makeLot(test.context, {
        lot: 'pouch',
        cellType: {
          ratedCapacityAh: 33.1,
          chargeVoltageLimitV: 4.2,
          dischargeCutoffV: 3,
          maxChargeCurrentA: 33,
        },
      }));
    });
    afterAll(() => test.close());

    const take = async (name: string, text: string, options: object) => {
      const file = { name, open: () => Promise.resolve(bufferSource(Buffer.from(text))), rereadable: true };
      const report = await importFile(test.context, file, { lot, ...options }, 'batch');
      expect(report.state, JSON.stringify(report)).toBe('taken');
    };

    it.each([25, 10])(
      '%i °C: meets the voltage limit and ends within 2 percent of the measured times, within 15 mV rms',
      async (temperatureC) => {
        const serial = `P${temperatureC}`;
        const { charge, chargeAh, pulses } = split(temperatureC);
        const capacityAh = 30.33;
        await take(`${serial} capacity.csv`, `cell,capacity_Ah\n${serial},${capacityAh}\n`, {});
        await take(`${serial} pulses.csv`, pulses, {
          cell: serial,
          kind: 'record',
          testKind: 'pulse',
          startSoc: 1,
          temperatureC,
        });
        const row = await selectOne<{ id: number; cellId: number }>(
          test.context.store,
          'SELECT id, cellId FROM Test ORDER BY id DESC LIMIT 1',
        );
        await evaluateTest(test.context, row?.id ?? 0, { startSoc: 1 });
        const { description, notes } = await draftChargeStudy(test.context, { cellIds: [row?.cellId ?? 0] });
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
