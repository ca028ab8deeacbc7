import { existsSync, readFileSync } from 'node:fs';
import type { Context } from '../../server/context.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { evaluateTest } from '../../server/use-cases/evaluation/evaluateTest.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { makeLot } from '../support/basics.ts';
import { selectOne } from '../support/sql.ts';

/**
 * Records of a 33 Ah pouch cell: G. Wiggins, S. Allu, H. Wang, Oak Ridge National Laboratory, doi:10.5281/zenodo.2580327 (MIT).
 * Each holds a charge at 10 A and, after it, the pulses at ten states of charge.
 */
const folder = new URL('../../../shared/datasets/leaf-33ah/', import.meta.url);
export const leafPresent = existsSync(new URL('hppc_25degC.csv', folder));
/** 1C capacity of the cell in the file of the 1C cycles, Ah. */
export const LEAF_CAPACITY_AH = 30.33;
/** Rows of the rests before and after a charge that are taken as part of its log. */
const REST_ROWS = 60;

export interface LeafCharge {
  readonly timeS: number[];
  readonly voltageV: number[];
  readonly currentA: number[];
}

/** The record split into its charge from empty to full and what follows; `log` is the charge with its rests, as a log of a stack of one. */
export function splitLeaf(temperatureC: number): {
  charge: LeafCharge;
  chargeAh: number;
  pulses: string;
  log: string;
} {
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
  const logged = rows.slice(Math.max(0, first - REST_ROWS), after + REST_ROWS);
  return {
    charge: {
      timeS: charge.map(([time]) => time - start),
      voltageV: charge.map(([, voltage]) => voltage),
      currentA: charge.map(([, , current]) => current),
    },
    chargeAh,
    pulses: [header, ...lines.slice(after)].join('\n'),
    log: [
      'Time (s),I stack (A),V cell 1 (V)',
      ...logged.map((row) => [row[0], row[3], row[4]].join(',')),
    ].join('\n'),
  };
}

/** Makes the lot that {@link takeLeafPulses} imports into; its name. */
export async function makeLeafLot(context: Context): Promise<string> {
  const { lot } = await makeLot(context, {
    lot: 'pouch',
    cellType: {
      ratedCapacityAh: 33.1,
      chargeVoltageLimitV: 4.2,
      dischargeCutoffV: 3,
      maxChargeCurrentA: 33,
    },
  });
  return lot.name;
}

/** Imports and evaluates what follows the charge in a record, as a pulse test of a cell. @returns the cell */
export async function takeLeafPulses(
  context: Context,
  lot: string,
  cell: string,
  temperatureC: number,
): Promise<number> {
  const take = async (name: string, text: string, options: object) => {
    const file = { name, open: () => Promise.resolve(bufferSource(Buffer.from(text))), rereadable: true };
    const report = await importFile(context, file, { lot, ...options }, 'batch');
    if (report.state !== 'taken') throw new Error(JSON.stringify(report));
  };
  const known = await selectOne<{ id: number }>(
    context.store,
    `SELECT id FROM Cell WHERE serial = '${cell}'`,
  );
  if (known === undefined)
    await take(`${cell} capacity.csv`, `cell,capacity_Ah\n${cell},${LEAF_CAPACITY_AH}\n`, {});
  await take(`${cell} pulses ${temperatureC}.csv`, splitLeaf(temperatureC).pulses, {
    cell,
    kind: 'record',
    testKind: 'pulse',
    startSoc: 1,
    temperatureC,
  });
  const row = await selectOne<{ id: number; cellId: number }>(
    context.store,
    'SELECT id, cellId FROM Test ORDER BY id DESC LIMIT 1',
  );
  await evaluateTest(context, row?.id ?? 0, { startSoc: 1 });
  return row?.cellId ?? 0;
}
