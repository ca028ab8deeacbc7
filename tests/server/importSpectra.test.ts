import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readImportFlags } from '../../server/commands/importOptions.ts';
import type { ImportOptions } from '../../server/contract/import.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { listSweeps } from '../../server/store/sweeps.ts';
import { findTest } from '../../server/store/tests.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { previewImport } from '../../server/use-cases/imports/previewImport.ts';
import { undoImport } from '../../server/use-cases/imports/undoImport.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';
import { selectAll, selectOne } from '../support/sql.ts';
import type { TestApp } from '../support/testApp.ts';
import { openTestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

let test: TestApp;
beforeAll(async () => {
  test = await openTestApp();
  await makeLot(test.context.store, 'L-1');
});
afterAll(async () => test.close());

let number = 0;
async function take(text: string, options: ImportOptions = {}) {
  const file = {
    name: `spectra-${++number}.csv`,
    open: async () => bufferSource(Buffer.from(text)),
    rereadable: true,
  };
  return importFile(test.context, file, { lot: 'L-1', cell: `C-${number}`, ...options }, 'b');
}
const sweepsOf = async (report: { runs: { testId: number | null }[] }, run = 0) =>
  listSweeps(test.context.store, report.runs[run].testId ?? 0);
const points = (sweep: Awaited<ReturnType<typeof sweepsOf>>[number]) => {
  const { frequencyHz, realOhm, imaginaryOhm } = sweep.spectrum;
  return Array.from(frequencyHz, (f, i) => [f, realOhm[i], imaginaryOhm[i]]);
};

describe('a table of impedance over frequency', () => {
  it('becomes one test of its cell with every sweep, frequencies in any order, each number as it was read', async () => {
    const report = await take(
      'sweep,charge_Ah,voltage_V,temperature_C,frequency_Hz,z_real_ohm,z_imag_ohm\n' +
        'b,-0.5,3.6,25,10,0.0231,-0.0017\na,0,4.1,25,0.1,0.1000000000000000055,-0.03\n' +
        'b,-0.5,3.5,25,1000.5,0.02,0.0003\na,0,4.1,25,6000,0.0210,0.00897\n',
    );
    expect(report).toMatchObject({
      state: 'taken',
      kind: 'impedance-table',
      rowCount: 4,
      cellsCreated: 1,
      measurementsCreated: 0,
      warnings: [],
      runs: [{ testKind: 'impedance', rowCount: 4 }],
    });
    const [b, a] = await sweepsOf(report);
    expect(b).toMatchObject({
      position: 0,
      label: 'b',
      soc: null,
      chargeAh: -0.5,
      voltageV: 3.55,
      temperatureC: 25,
      sourceRowFirst: 2,
      sourceRowLast: 4,
    });
    expect(points(b)).toEqual([
      [10, 0.0231, -0.0017],
      [1000.5, 0.02, 0.0003],
    ]);
    expect(points(a)).toEqual([
      [0.1, 0.1, -0.03],
      [6000, 0.021, 0.00897],
    ]);
    expect(await findTest(test.context.store, report.runs[0].testId ?? 0)).toMatchObject({
      kind: 'impedance',
      temperatureC: 25,
      record: null,
      spectra: { sweepCount: 2, pointCount: 4 },
    });
  });

  it('reads kHz, mΩ, decimal commas and a state of charge in percent, each by one rounded operation', async () => {
    const report = await take(
      "f (kHz);Z' (mΩ);Z'' (mΩ);SOC (%);T (K)\n0,01;21,3;-1,7;50;293,15\n1,2;20,9;0,3;50;293,15\n",
    );
    const [sweep] = await sweepsOf(report);
    expect(points(sweep)).toEqual([
      [10, 21.3 / 1000, -1.7 / 1000],
      [1200, 20.9 / 1000, 0.3 / 1000],
    ]);
    expect(sweep).toMatchObject({ soc: 0.5, temperatureC: 20 });
  });

  it('reads magnitude and phase in degrees or radians', async () => {
    const degrees = await take('frequency_Hz,|Z| (ohm),phase (deg)\n10,2,-60\n');
    const [[, real, imaginary]] = points((await sweepsOf(degrees))[0]);
    expect(real).toBeCloseTo(1, 14);
    expect(imaginary).toBeCloseTo(-Math.sqrt(3), 14);
    const radians = await take('Freq [Hz],Z modulus [mOhm],phase_rad\n10,2,-0.5\n');
    const [[, re, im]] = points((await sweepsOf(radians))[0]);
    expect(re).toBeCloseTo(0.002 * Math.cos(0.5), 15);
    expect(im).toBeCloseTo(-0.002 * Math.sin(0.5), 15);
  });

  it('gives each cell of the file its own test, and begins a sweep where a frequency comes again', async () => {
    const report = await take(
      'cell_id,frequency_Hz,re_ohm,im_ohm\nX-1,10,1,-1\nX-2,10,2,-1\nX-1,1,1.5,-2\nX-1,10,1.1,-1\nX-1,1,1.6,-2\n',
    );
    expect(report).toMatchObject({ cells: ['X-1', 'X-2'], cellsCreated: 2 });
    expect(report.warnings).toEqual([
      'no column tells the sweeps apart: a frequency that came again began another one, which makes 3 sweeps',
    ]);
    expect((await sweepsOf(report, 0)).map((sweep) => [sweep.label, points(sweep).length])).toEqual([
      ['1', 2],
      ['2', 2],
    ]);
    expect(await sweepsOf(report, 1)).toHaveLength(1);
  });

  it('is taken once, taken back with its spectra, and taken again', async () => {
    const text = 'frequency_Hz,z_real_ohm,z_imag_ohm\n10,1,-1\n1,2,-1\n';
    const first = await take(text, { cell: 'U-1' });
    expect(await take(text, { cell: 'U-1' })).toMatchObject({ refusal: { code: 'duplicate-file' } });
    await undoImport(test.context, first.sourceFileId ?? 0);
    expect(await sweepsOf(first)).toEqual([]);
    expect(await take(text, { cell: 'U-1' })).toMatchObject({ state: 'taken' });
  });
});

describe('the sign of the imaginary part', () => {
  const imaginary = async (text: string, options: ImportOptions = {}) => {
    const report = await take(text, options);
    return { values: points((await sweepsOf(report))[0]).map((point) => point[2]), report };
  };

  it('is turned round, and told, where the column’s name says that it holds −Im Z', async () => {
    for (const name of ['-Im(Z) (ohm)', "−Z'' (ohm)", 'minus_z_imag_ohm', 'neg imaginary part [ohm]']) {
      const { values, report } = await imaginary(`f_Hz,real_ohm,${name}\n10,1,0.5\n5000,1,-0.25\n`);
      expect(values, name).toEqual([-0.5, 0.25]);
      expect(report.warnings).toEqual([]);
      expect(report.mapping.find(({ role }) => role === 'imaginary')).toMatchObject({ signTurned: true });
    }
  });

  it('is found from most points below 100 Hz where the name does not say it, with a warning that names it', async () => {
    const { values, report } = await imaginary(
      'f_Hz,z_real_ohm,z_imag_ohm\n5000,1,-0.25\n50,1.01,0.4\n10,1.02,0.5\n1,1.03,-0.1\n',
    );
    expect(values).toEqual([0.25, -0.4, -0.5, 0.1]);
    expect(report.warnings).toEqual([
      'imaginary: 2 of 3 points of "z_imag_ohm" below 100 Hz are positive, where a cell is capacitive: the column was ' +
        'taken as the negative of the imaginary part and turned round; to state it: --imaginary-sign negative-capacitive or ' +
        'positive-capacitive',
    ]);
  });

  it('is as stated, whatever the numbers look like', async () => {
    const text = 'f_Hz,z_real_ohm,z_imag_ohm\n10,1,0.51\n';
    expect((await imaginary(text, { imaginarySign: 'negative-capacitive' })).values).toEqual([0.51]);
    const turned = await imaginary(`${text}5,1,0.6\n`, { imaginarySign: 'positive-capacitive' });
    expect(turned.values).toEqual([-0.51, -0.6]);
    expect(turned.report.warnings).toEqual([]);
  });

  it('is warned of where no point below 100 Hz tells it, and where name and points disagree', async () => {
    const high = await imaginary('f_Hz,z_real_ohm,z_imag_ohm\n1000,1,-0.2\n');
    expect(high.report.warnings[0]).toContain('no point below 100 Hz tells the sign of "z_imag_ohm"');
    const against = await imaginary('f_Hz,z_real_ohm,-z_imag_ohm\n10,1,-0.2\n');
    expect(against.values).toEqual([0.2]);
    expect(against.report.warnings[0]).toContain('was turned round for its name, though 1 of 1 points');
  });

  it('can be stated by command', () => {
    const flags = { lot: 'L-1', imaginarySign: 'positive-capacitive' };
    expect(readImportFlags(flags)).toEqual(flags);
    expect(() => readImportFlags({ lot: 'L-1', imaginarySign: 'up' })).toThrow('--imaginarySign');
  });

  it('of a phase is found alike', async () => {
    const { values } = await imaginary('f_Hz,z_ohm,phase_deg\n10,1,30\n');
    expect(values[0]).toBeCloseTo(-0.5, 14);
  });
});

describe('a bad row', () => {
  const head = 'frequency_Hz,z_real_ohm,z_imag_ohm,soc\n10,1,-1,0.5\n';
  it.each([
    ['0,1,-1,0.5', 'impossible-frequency', 'frequency_Hz', '0'],
    ['-5,1,-1,0.5', 'impossible-frequency', 'frequency_Hz', '-5'],
    ['5,0,0,0.5', 'impossible-impedance', 'z_real_ohm', '0'],
    ['1e300,1,-1,0.5', 'impossible-frequency', 'frequency_Hz', '1e300'],
    ['5,1e-200,-1e-200,0.5', 'impossible-impedance', 'z_real_ohm', '1e-200'],
    ['5,NaN,-1,0.5', 'missing-value', 'z_real_ohm', 'NaN'],
    ['5,,-1,0.5', 'missing-value', 'z_real_ohm', ''],
    ['5,one,-1,0.5', 'not-a-number', 'z_real_ohm', 'one'],
    ['5,1,1e999,0.5', 'not-finite', 'z_imag_ohm', '1e999'],
    ['1,1,-1', 'field-count', null, '1,1,-1'],
  ])('%s refuses the file whole, naming row 3 and why', async (row, code, column, value) => {
    const report = await take(`${head}${row}\n`, { cell: 'B-1' });
    expect(report).toMatchObject({ state: 'refused', refusal: { code, row: 3, column, value } });
    expect(await selectAll(test.context.store, `SELECT id FROM Cell WHERE serial = 'B-1'`)).toEqual([]);
    expect(
      await selectAll(
        test.context.store,
        'SELECT s.id FROM Sweep s LEFT JOIN Test t ON t.id = s.testId WHERE t.id IS NULL',
      ),
    ).toEqual([]);
  });

  it('is the one after which a sweep is no spectrum any more', async () => {
    const rows = Array.from({ length: 2001 }, (_, i) => `${i + 1},1,-1`).join('\n');
    expect(await take(`f_Hz,re_ohm,im_ohm\n${rows}\n`)).toMatchObject({
      refusal: { code: 'too-many-rows', row: 2002, reason: 'The sweep has more than 2000 points' },
    });
  });

  it('is one without a serial, a state of charge that cannot be, or a unit that is not stated', async () => {
    const of = async (text: string, options: ImportOptions = {}) =>
      take(text, { kind: 'impedance-table', ...options });
    expect(await of('cell_id,f_Hz,re_ohm,im_ohm\n,10,1,-1\n')).toMatchObject({
      refusal: { code: 'missing-value', row: 2, column: 'cell_id' },
    });
    expect(await of('soc_%,f_Hz,re_ohm,im_ohm\n120,10,1,-1\n')).toMatchObject({
      refusal: { code: 'impossible-soc', row: 2, column: 'soc_%', value: '120' },
    });
    // Counted a little past full: not 1.02 %, with every other sweep a hundredth of what it says.
    expect(await of('sweep,soc,f_Hz,re_ohm,im_ohm\na,0.5,10,1,-1\nb,1.02,10,1,-1\n')).toMatchObject({
      refusal: { code: 'impossible-soc', row: 3, value: '1.02' },
    });
    expect(await of('f_Hz,re,im\n10,1,-1\n')).toMatchObject({
      refusal: { code: 'unknown-unit', row: 1, column: 're' },
    });
    expect(await of('f_Hz,re_ohm\n10,1\n')).toMatchObject({
      refusal: { code: 'missing-column', column: 'imaginary' },
    });
    expect(await take('f_Hz,re_ohm,im_ohm\n11,1,-1\n', { cell: undefined })).toMatchObject({
      refusal: { code: 'missing-cell' },
    });
    expect(await of('f_Hz,re,im\n10,1,-1\n', { units: { real: 'mohm', imaginary: 'mohm' } })).toMatchObject({
      state: 'taken',
    });
  });
});

describe('the preview', () => {
  const preview = async (text: string, options: ImportOptions) =>
    previewImport(test.context, 'x.csv', Buffer.from(text), true, { lot: 'L-1', ...options });

  it('shows columns, units, turned sign and what would be created, and stores nothing', async () => {
    const before = await selectOne(test.context.store, 'SELECT COUNT(*) AS n FROM Sweep');
    const shown = await preview('sweep,freq_kHz,Zre_mohm,-Zim_mohm\n1,1,20,0.1\n2,1,21,0.1\n', {
      cell: 'P-1',
    });
    expect(shown).toMatchObject({
      kind: 'impedance-table',
      creates: { cells: ['P-1'], tests: 1 },
      runs: [{ cell: 'P-1', testKind: 'impedance', rowCount: 2, firstRow: 2 }],
      refusal: null,
    });
    expect(shown.mapping).toEqual([
      expect.objectContaining({ role: 'frequency', unit: 'kHz', keptUnit: 'Hz', unitFrom: 'header' }),
      expect.objectContaining({ role: 'real', unit: 'mohm', keptUnit: 'Ohm', signTurned: false }),
      expect.objectContaining({ role: 'imaginary', source: '-Zim_mohm', signTurned: true }),
      expect.objectContaining({ role: 'sweep', unit: null }),
    ]);
    expect(await selectOne(test.context.store, 'SELECT COUNT(*) AS n FROM Sweep')).toEqual(before);
  });

  it('takes the columns that are chosen, and says that a serial is missing', async () => {
    const shown = await preview('a,b,c\n10,1,-1\n', {
      columns: { frequency: 'a', real: 'b', imaginary: 'c' },
      units: { real: 'ohm', imaginary: 'ohm' },
    });
    expect(shown.kind).toBe('impedance-table');
    expect(shown.warnings).toEqual([
      'frequency: column "a" states no unit; Hz was taken',
      'this file does not name its cell: enter the serial',
    ]);
  });
});

const folder = 'datasets/panasonic-18650pf';
describe.skipIf(sharedIsMissing(folder))('the measured spectra of a Panasonic 18650PF cell', () => {
  it.each([
    ['eis_25degC.csv', 14, 756, 25],
    ['eis_10degC.csv', 13, 702, 10],
    ['eis_n10degC.csv', 9, 486, -10],
  ])(
    '%s: %i sweeps with %i points, each number equal to Number() of its text',
    async (name, count, rows, at) => {
      const text = readFileSync(sharedPath(`${folder}/${name}`), 'utf8');
      const report = await take(text, { cell: 'PF-1' });
      expect(report).toMatchObject({ state: 'taken', rowCount: rows, cells: ['PF-1'], warnings: [] });
      const sweeps = await sweepsOf(report);
      expect(sweeps).toHaveLength(count);
      expect(sweeps.every(({ temperatureC }) => temperatureC === at)).toBe(true);
      const lines = text.trimEnd().split('\n').slice(1);
      expect(sweeps.flatMap(points)).toEqual(lines.map((line) => line.split(',').slice(4).map(Number)));
    },
  );
});
