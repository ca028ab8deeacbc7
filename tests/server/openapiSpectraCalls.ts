import type { Context } from '../../server/context.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { logFrequencies, powerCell, spectrumOf } from '../fitting/impedance/syntheticSpectrum.ts';
import type { ApiCall } from './openapiCalls.ts';

/** Takes a file with one exact spectrum of the invented power cell; returns its test. */
export async function importSpectraFile(context: Context, lot: string, cell: string): Promise<number> {
  const { frequencyHz, realOhm, imaginaryOhm } = spectrumOf(powerCell, logFrequencies(6000, 0.1, 5));
  const rows = Array.from(frequencyHz, (f, i) => `${f},${realOhm[i]},${imaginaryOhm[i]},25`);
  const text = `frequency_Hz,z_real_ohm,z_imag_ohm,temperature_C\n${rows.join('\n')}\n`;
  const file = {
    name: `${cell} spectrum.csv`,
    open: () => Promise.resolve(bufferSource(Buffer.from(text))),
    rereadable: true,
  };
  const report = await importFile(context, file, { lot, cell }, 'batch');
  if (report.state !== 'taken') throw new Error(JSON.stringify(report.refusal));
  return report.runs[0].testId as number;
}

/** Calls about impedance spectra. */
export function spectraCalls(testId: number): ApiCall[] {
  return [
    { route: 'get /tests/{id}/sweeps', path: { id: testId } },
    {
      route: 'post /tests/{id}/evaluate',
      path: { id: testId },
      body: { maxArcs: 2, diffusionTail: 'auto', fitFromHz: 0.1, consistencyLimit: 0.02 },
    },
    { route: 'get /tests/{id}/evaluation', path: { id: testId } },
  ];
}
