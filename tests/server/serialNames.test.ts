import { describe, expect, it } from 'vitest';
import { bufferSource } from '../../server/import/byteSource.ts';
import { readRuns } from '../../server/import/readRecordFile.ts';
import type { TableFile } from '../../server/import/readTableFile.ts';
import { readTable } from '../../server/import/readTableFile.ts';
import { planTable } from '../../server/import/recognise/tablePlan.ts';
import { readSpectra } from '../../server/import/spectrumTable.ts';
import { readQuantities } from '../../server/import/tableQuantities.ts';

const table = (text: string): Promise<TableFile> => readTable(bufferSource(Buffer.from(text)));

describe('a column that says which cell a row is of', () => {
  it.each([
    'serial',
    'Cell-ID',
    'cell_no',
    'Serial Number',
    'SN',
    'barcode',
    'battery',
    'Cell S/N',
    'S/N',
    'QR code',
    'Seriennummer',
  ])('is known by the name %s in every kind of file', async (name) => {
    const cells = await table(`${name},capacity_Ah\nK-1,2.1\n`);
    const values = readQuantities(cells, planTable(cells));
    expect(values.map(({ serial }) => serial)).toEqual(['K-1']);
    const spectra = readSpectra(await table(`${name},frequency_Hz,real_ohm,imag_ohm\nK-1,10,0.02,-0.001\n`));
    expect(spectra.sweeps.map(({ cell }) => cell)).toEqual(['K-1']);
    const record = `${name},time_s,voltage_V,current_A\nK-1,0,3.7,0\nK-1,1,3.7,0\n`;
    const [run] = await readRuns(bufferSource(Buffer.from(record)), {});
    expect(run.key).toEqual([{ column: name, value: 'K-1' }]);
  });
});
