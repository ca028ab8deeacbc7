import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import type { Evaluation } from '../../server/contract/tests.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { inOrder } from '../../server/inOrder.ts';
import { listColumns } from '../../server/store/measurements.ts';
import { listSweeps } from '../../server/store/sweeps.ts';
import { listTestsToEvaluate } from '../../server/store/tests.ts';
import { evaluateLot } from '../../server/use-cases/evaluation/evaluateLot.ts';
import { evaluateTest } from '../../server/use-cases/evaluation/evaluateTest.ts';
import { writeExport } from '../../server/use-cases/exports/writeExport.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { logFrequencies, powerCell, spectrumOf } from '../fitting/impedance/syntheticSpectrum.ts';
import type { TestApp } from '../support/testApp.ts';
import { openTestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

let test: TestApp;
let lotId: number;
beforeAll(async () => {
  test = await openTestApp();
  lotId = await makeLot(test.context.store, 'L-1');
});
afterAll(async () => test.close());
const api = () => request(test.app);

async function take(name: string, text: string): Promise<number> {
  const file = { name, open: async () => bufferSource(Buffer.from(text)), rereadable: true };
  const report = await importFile(test.context, file, { lot: 'L-1', cell: name }, 'b');
  if (report.state !== 'taken') throw new Error(JSON.stringify(report.refusal));
  return report.runs[0].testId as number;
}

/** Two sweeps of the invented power cell with 0.1 % of scatter, half the rated charge apart. */
function spectraFile(seed: number): string {
  const frequencies = logFrequencies(10_000, 0.01, 8);
  const normal = normalSource(seededRandom(seed));
  const rows = [0, -1.1].flatMap((chargeAh, k) => {
    const { frequencyHz, realOhm, imaginaryOhm } = spectrumOf(powerCell, frequencies, 0.001, normal);
    return Array.from(frequencyHz, (f, i) => `${k + 1},${chargeAh},25,${f},${realOhm[i]},${imaginaryOhm[i]}`);
  });
  return `sweep,charge_Ah,temperature_C,frequency_Hz,z_real_ohm,z_imag_ohm\n${rows.join('\n')}\n`;
}

const impedanceOf = (evaluation: Evaluation) => {
  if (evaluation.evaluation.kind !== 'impedance') throw new Error('not an impedance');
  return evaluation.evaluation.result;
};

describe('an impedance test', () => {
  it('is evaluated over HTTP; what the start is said to be gives each sweep its state of charge', async () => {
    const id = await take('E-1', spectraFile(1));
    const listed = await api().get('/api/v1/tests').query({ lotId, evaluated: 'no' });
    expect(listed.body.items).toMatchObject([
      { id, kind: 'impedance', spectra: { sweepCount: 2, pointCount: 98 } },
    ]);
    expect((await api().get(`/api/v1/lots/${lotId}`)).body.counts.testsNotEvaluated).toBe(1);
    expect((await api().get('/api/v1/overview')).body.waiting.testsNotEvaluated).toBe(1);
    const first = await api().post(`/api/v1/tests/${id}/evaluate`).send({});
    expect(first.status).toBe(200);
    // The version is the same as before, so a browser must not have kept the answer from before under it.
    const fresh = await api().get(`/api/v1/tests/${id}`);
    expect(fresh.headers).toMatchObject({ etag: '"1"', 'cache-control': 'no-store' });
    expect(fresh.body.evaluatedAt).not.toBeNull();
    const unknown = impedanceOf(first.body);
    expect(unknown.sweeps.map(({ soc, socReason }) => [soc, socReason])).toEqual([
      [null, 'start-soc-unknown'],
      [null, 'start-soc-unknown'],
    ]);
    await api().patch(`/api/v1/tests/${id}`).set('If-Match', '"1"').send({ startSoc: 1 }).expect(200);
    const again = await api().post(`/api/v1/tests/${id}/evaluate`).send({ maxArcs: 2 });
    expect(impedanceOf(again.body).sweeps.map(({ soc }) => soc)).toEqual([1, 0.5]);
    expect((await api().get(`/api/v1/tests/${id}/evaluations`)).body.items).toHaveLength(2);
    expect((await api().get(`/api/v1/tests/${id}/evaluation`)).body.fit).toMatchObject({ kind: 'impedance' });
  });

  it('gives |Z| at 1 kHz as a measurement with condition and uncertainty, traced to the rows of its sweep', async () => {
    const { body } = await api().get('/api/v1/cells/1/measurements').query({ quantity: 'impedance-1khz' });
    expect(body.items).toHaveLength(2);
    const exact = spectrumOf(powerCell, Float64Array.of(1000));
    const magnitude = Math.hypot(exact.realOhm[0], exact.imaginaryOhm[0]);
    for (const [k, item] of body.items.entries()) {
      expect(item).toMatchObject({
        unit: 'Ohm',
        soc: k === 0 ? 1 : 0.5,
        temperatureC: 25,
        method: 'impedance spectrum, |Z| interpolated at 1 kHz',
        reason: null,
        excludedReason: null,
      });
      expect(Math.abs(item.value / magnitude - 1)).toBeLessThan(0.01);
      expect(item.standardUncertainty / item.value).toBeGreaterThan(0.0003);
      expect(item.standardUncertainty / item.value).toBeLessThan(0.003);
    }
    const traced = await api().get(`/api/v1/measurements/${body.items[1].id}/origin`);
    expect(traced.body).toMatchObject({
      fit: { kind: 'impedance' },
      sourceFile: { name: 'E-1', firstRow: 51, lastRow: 99 },
    });
  });

  it('is previewed over HTTP, with the sign that the request states', async () => {
    const preview = (query: object) =>
      api()
        .post('/api/v1/imports/preview')
        .query({ lot: 'L-1', cell: 'P-1', name: 'p.csv', ...query })
        .set('Content-Type', 'text/csv')
        .send('frequency_Hz,z_real_ohm,z_imag_ohm\n10,0.02,-0.001\n');
    const { body } = await preview({ imaginarySign: 'positive-capacitive' }).expect(200);
    expect(body).toMatchObject({
      kind: 'impedance-table',
      creates: { cells: ['P-1'], tests: 1 },
      refusal: null,
    });
    expect(body.mapping[2]).toMatchObject({ role: 'imaginary', signTurned: true });
    await preview({ imaginarySign: 'up' }).expect(400);
  });

  it('hands out every point as it was read', async () => {
    const { body } = await api().get('/api/v1/tests/1/sweeps').expect(200);
    const [header, ...lines] = spectraFile(1).trimEnd().split('\n');
    const at = header.split(',').indexOf('z_real_ohm');
    expect(body.items.flatMap((sweep: { realOhm: number[] }) => sweep.realOhm)).toEqual(
      lines.map((line) => Number(line.split(',')[at])),
    );
    await api().get('/api/v1/tests/99/sweeps').expect(404);
  });

  it('is written as CSV that is read again to the same spectra', async () => {
    const { data, fileName } = await writeExport(test.context, {
      format: 'record-csv',
      subjectKind: 'test',
      subjectId: 1,
    } as Parameters<typeof writeExport>[1]);
    expect(fileName).toMatch(/record\.csv$/);
    const text = Buffer.from(data).toString();
    expect(text.split('\r\n')[0]).toBe(
      'sweep,charge_Ah,temperature_C,frequency_Hz,z_real_Ohm,z_imaginary_Ohm',
    );
    const again = await take('E-2', text);
    const [before, after] = await inOrder([1, again], async (id) => listSweeps(test.context.store, id));
    expect(after).toEqual(before);
  });

  it('is evaluated with its lot, and its values stand in a column with those of a cell table', async () => {
    const table = 'serial,soc_%,temperature_C,acir_1khz_mohm\nT-1,50,25,20.6\nT-2,50,25,20.8\n';
    const file = { name: 'table.csv', open: async () => bufferSource(Buffer.from(table)), rereadable: true };
    await importFile(test.context, file, { lot: 'L-1' }, 'b');
    expect(await listTestsToEvaluate(test.context.store, lotId, true)).toHaveLength(1);
    expect(await evaluateLot(test.context, lotId, { onlyNotEvaluated: true })).toEqual({
      evaluated: 1,
      failed: [],
    });
    await evaluateTest(test.context, (await listTestsToEvaluate(test.context.store, lotId, false))[1].id, {
      startSoc: 1,
    });
    const column = (await listColumns(test.context.store, lotId)).find(
      ({ quantity, soc }) => quantity === 'impedance-1khz' && soc === 0.5,
    );
    expect(column).toMatchObject({ cellCount: 4, unit: 'Ohm', temperatureC: 25 });
  });

  it('that has a record over time is refused with what would be right', async () => {
    const file = {
      name: 'record.csv',
      open: async () => bufferSource(Buffer.from('time_s,voltage_V,current_A\n0,3.7,0\n1,3.7,0\n')),
      rereadable: true,
    };
    const report = await importFile(
      test.context,
      file,
      { lot: 'L-1', cell: 'R', testKind: 'impedance' },
      'b',
    );
    const { body } = await api().post(`/api/v1/tests/${report.runs[0].testId}/evaluate`).send({}).expect(422);
    expect(body.detail).toContain('is evaluated from a table of impedance over frequency');
  });
});
