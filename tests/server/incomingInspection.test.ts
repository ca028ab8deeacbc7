import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { seededRandom } from '../../fitting/statistics/random.ts';
import { registerPair } from '../../server/commands/pair.ts';
import { createProgram, runProgram } from '../../server/commands/program.ts';
import type { LotColumns } from '../../server/contract/lots.ts';
import { type PairingResult, pairingResult } from '../../server/contract/pairingResult.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { findLotByName } from '../../server/store/lots.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { runPairing } from '../../server/use-cases/pairing/runPairing.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

const DRIFTING = 'LX-0017';
const HIGH = 'LX-0042';
const SWAPPED = 'LX-0071';
const DENTED = 'LX-0088';
const LOW = 'LX-0093';

/** A delivery of 100 cells as an incoming inspection writes it, with five planted cells. */
function inspection(): string {
  const random = seededRandom(20261130);
  const normal = () => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
  const rows = Array.from({ length: 100 }, (_, i) => {
    const serial = `LX-${String(i + 1).padStart(4, '0')}`;
    const capacity = 2040 + 8 * normal();
    const ocv = 3.652 + 0.0012 * normal() - (serial === LOW ? 0.022 : 0);
    const acr = 15.2 + 0.18 * normal();
    const dcr = 22.4 + 0.4 * normal();
    // 0.02 mV/h are 0.48 mV a day; the planted cell has ten times that.
    const k = (0.02 + 0.002 * normal()) * (serial === DRIFTING ? 10 : 1);
    return [
      serial,
      ocv.toFixed(4),
      acr.toFixed(2),
      (dcr * (serial === HIGH ? 1.6 : 1)).toFixed(2),
      k.toFixed(4),
      (11.2 + 0.03 * normal()).toFixed(2),
      // One value was typed in ampere hours.
      serial === SWAPPED ? (capacity / 1000).toFixed(4) : capacity.toFixed(1),
      serial === DENTED ? 'dent at the edge' : '',
      'tray 3',
    ].join(';');
  });
  const header = 'Cell S/N;OCV;ACIR 1 kHz;DCIR 10 s;K value (mV/h);thickness;Kapazität [mAh];damage;tray';
  return `Delivery 2026-11, hall 2\n\n${header}\n${rows.join('\n')}\n`;
}

let folder: string;
let app: TestApp;
let lotId: number;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'gemel-inspection-'));
  app = await openTestApp();
  await makeLot(app.context.store, 'L-1');
  lotId = (await findLotByName(app.context.store, 'L-1'))?.id ?? 0;
});
afterAll(async () => {
  await app.close();
  rmSync(folder, { recursive: true });
});

async function byCommand(text: string, ...options: string[]): Promise<PairingResult> {
  const path = join(folder, 'inspection.csv');
  writeFileSync(path, text);
  let out = '';
  const spies = [
    vi.spyOn(process.stdout, 'write').mockImplementation((piece) => {
      out += piece;
      return true;
    }),
    vi.spyOn(process.stderr, 'write').mockImplementation(() => true),
  ];
  try {
    const program = createProgram();
    registerPair(program);
    expect(await runProgram(program, ['pair', path, '--json', ...options])).toBe(0);
  } finally {
    for (const spy of spies) spy.mockRestore();
  }
  return pairingResult.parse(JSON.parse(out));
}

/** What the page does: the purpose as the server proposes it for the lot, then the run. */
async function byPage(purpose: string): Promise<PairingResult> {
  const { body } = await request(app.app).get(`/api/v1/lots/${lotId}/columns`);
  const { purposes } = body as LotColumns;
  const chosen = purposes.find((one) => one.purpose === purpose)!;
  const features = chosen.features.map(({ key, quantity, importance, tolerancePercent }) => ({
    name: quantity,
    quantity,
    column: key,
    importance,
    tolerance: { kind: 'percent', value: tolerancePercent },
  }));
  const criteria = { name: purpose, purpose, features };
  const preview = await request(app.app)
    .post('/api/v1/pairings/preview')
    .send({ lotIds: [lotId], criteria });
  expect(preview.status).toBe(200);
  const { createPairing } = await import('../../server/contract/pairings.ts');
  const { result } = await runPairing(app.context, createPairing.parse({ lotIds: [lotId], criteria }));
  expect(result.cells.length - result.unpaired.filter(gated).length).toBe(preview.body.offered);
  return result;
}

const gated = ({ reason }: PairingResult['unpaired'][number]) =>
  [
    'warning-sign',
    'outlier',
    'missing-value',
    'implausible-value',
    'outside-cell-limit',
    'held-back',
  ].includes(reason);

const pairsOf = (result: PairingResult) =>
  result.pairs.map(({ cells }) => [...cells].sort().join('+')).sort();
const outOf = (result: PairingResult) =>
  Object.fromEntries(result.unpaired.filter(gated).map(({ cell, reason }) => [cell, reason]));

describe('an incoming inspection of 100 cells', () => {
  test('is imported with all its columns found, the unused ones named and the swapped unit marked', async () => {
    const file = {
      name: 'inspection.csv',
      open: async () => bufferSource(Buffer.from(inspection())),
      rereadable: true,
    };
    const report = await importFile(app.context, file, { lot: 'L-1' }, 'b');
    expect(report).toMatchObject({ state: 'taken', kind: 'cell-table', cellsCreated: 100, refusal: null });
    expect(report.mapping.map(({ role, unit, unitFrom }) => [role, unit, unitFrom])).toEqual([
      ['cell', null, null],
      ['warning', null, null],
      ['ocv', 'V', 'values'],
      ['impedance-1khz', 'mohm', 'values'],
      ['resistance/10s', 'mohm', 'values'],
      ['drift', 'mV/h', 'header'],
      ['thickness', 'mm', 'values'],
      ['capacity', 'mAh', 'header'],
    ]);
    expect(report.unusedColumns).toEqual([{ column: 'tray', reason: 'not-recognised' }]);
    expect(report.warnings.join('\n')).toMatch(/capacity of LX-0071 in row 74 \(implausible/);
  });

  test.each(['all-round', 'fast-charging', 'run-time', 'long-storage'])(
    'gives page and command the same pairs for %s, proven best, and never pairs a planted cell',
    async (purpose) => {
      const command = await byCommand(inspection(), '--purpose', purpose);
      const page = await byPage(purpose);
      expect(pairsOf(page)).toEqual(pairsOf(command));
      for (const result of [command, page]) {
        expect(outOf(result)).toMatchObject({
          [DRIFTING]: 'warning-sign',
          [LOW]: 'warning-sign',
          [DENTED]: 'warning-sign',
          [HIGH]: 'outlier',
          [SWAPPED]: 'implausible-value',
        });
        // A lot of 95 sound cells may hold one or two that chance puts far out.
        expect(Object.keys(outOf(result)).length).toBeLessThanOrEqual(7);
        expect(result.certificate).toMatchObject({ proven: true, reason: 'confirmed' });
        expect(result.warnings).toContainEqual({
          code: 'implausible-value',
          feature: 'capacity',
          cells: [SWAPPED],
        });
      }
    },
  );

  test('pairs a cell in spite of its sign only on request, and the report keeps the request', async () => {
    const result = await byCommand(inspection(), '--ignore-sign', 'low-ocv', '--outliers', 'offer');
    expect(result.criteria).toMatchObject({ signsIgnored: ['low-ocv'], outlierLimit: null });
    expect(outOf(result)).not.toHaveProperty(LOW);
    expect(outOf(result)).not.toHaveProperty(HIGH);
    expect(result.warnings).toContainEqual({
      code: 'signs-ignored',
      feature: null,
      cells: [LOW],
      detail: 'low-ocv',
    });
  });

  test('pairs by the 1 kHz value where nothing else is measured, and says so above the result', async () => {
    const text = inspection()
      .split('\n')
      .map((line) => line.split(';').toSpliced(3, 1).join(';'))
      .join('\n');
    const result = await byCommand(text, '--purpose', 'fast-charging');
    expect(result.features.map(({ quantity }) => quantity)).toEqual(['impedance-1khz', 'capacity']);
    expect(result.warnings[0]).toEqual({
      code: 'main-quantity-missing',
      feature: 'resistance',
      cells: [],
      detail: 'impedance-1khz, capacity',
    });
  });

  test('assigns a header that is not recognised by --columns and --units', async () => {
    const text = inspection()
      .replace('DCIR 10 s', 'R2')
      .replace('Kapazität [mAh]', 'Fach 7')
      .replace('Cell S/N', 'Kennung');
    const result = await byCommand(
      text,
      '--columns',
      'cell=Kennung,resistance/10s=R2,capacity=Fach 7',
      '--units',
      'resistance/10s=mohm,capacity=mAh',
    );
    expect(pairsOf(result)).toEqual(pairsOf(await byCommand(inspection())));
  });
});
