import { describe, expect, it } from 'vitest';
import { fitImpedanceCircuit } from '../../fitting/impedance/fitImpedanceCircuit.ts';
import { highFrequencyIntercept } from '../../fitting/impedance/highFrequencyIntercept.ts';
import { impedanceAt } from '../../fitting/impedance/impedanceAt.ts';
import { checkKramersKronig } from '../../fitting/impedance/kramersKronig.ts';
import type { Spectrum } from '../../fitting/impedance/spectrum.ts';
import { findPython, runPython } from '../support/python.ts';
import { groupRows, numbers, readCsv } from '../support/readCsv.ts';
import { isMissing, sharedIsMissing, sharedPath } from '../support/required.ts';

// P. Kollmeyer, "Panasonic 18650PF Li-ion Battery Data", Mendeley Data (2018), CC BY 4.0.
const folder = 'datasets/panasonic-18650pf';
const files = [
  { name: 'eis_25degC.csv', sweeps: 14, lowest: 20.8, highest: 22.7 },
  { name: 'eis_10degC.csv', sweeps: 13, lowest: 22.4, highest: 24.3 },
  { name: 'eis_n10degC.csv', sweeps: 9, lowest: 28.1, highest: 29.8 },
];

function sweepsOf(name: string): Map<string, Spectrum> {
  const { header, rows } = readCsv(sharedPath(`${folder}/${name}`));
  const at = (column: string): number => header.indexOf(column);
  return new Map(
    [...groupRows(rows, at('sweep'))].map(([sweep, own]) => [
      sweep,
      {
        frequencyHz: numbers(own, at('frequency_Hz')),
        realOhm: numbers(own, at('z_real_ohm')),
        imaginaryOhm: numbers(own, at('z_imag_ohm')),
      },
    ]),
  );
}

describe.skipIf(sharedIsMissing(folder))('the measured spectra of a Panasonic 18650PF cell', () => {
  it.each(files)(
    '$name: real part at 1067 Hz from $lowest to $highest mΩ over all states of charge',
    (file) => {
      const values = [...sweepsOf(file.name).values()].map(
        (spectrum) => Math.round(10_000 * (impedanceAt(spectrum, 1067).realOhm ?? Number.NaN)) / 10,
      );
      expect(values).toHaveLength(file.sweeps);
      expect(Math.min(...values)).toBe(file.lowest);
      expect(Math.max(...values)).toBe(file.highest);
    },
  );

  it.each(files)(
    '$name: the high-frequency intercept is within 5 % of the real part at 1 kHz',
    ({ name }) => {
      for (const spectrum of sweepsOf(name).values()) {
        const ratio =
          highFrequencyIntercept(spectrum, checkKramersKronig(spectrum)).resistanceOhm! /
          impedanceAt(spectrum, 1000).realOhm!;
        expect(Math.abs(ratio - 1)).toBeLessThan(0.05);
      }
    },
  );

  it('obey the Kramers–Kronig relations but where the voltage still moved: at −10 °C and full, fresh from charge', () => {
    // The voltage of this sweep moves by 74 mV while it is measured, that of any at 25 °C and half charge by 1.3 mV.
    expect(checkKramersKronig(sweepsOf('eis_n10degC.csv').get('3740_EIS00001')!)).toMatchObject({
      verdict: 'inconsistent',
      departingHz: { length: 54 },
    });
    const { verdict, rmsResidual } = checkKramersKronig(sweepsOf('eis_25degC.csv').get('3541_EIS00007')!);
    expect(verdict).toBe('consistent');
    expect(rmsResidual).toBeLessThan(0.001);
  });
});

const python = findPython('numpy', 'scipy');
/** The same circuit and weights, written anew with complex numbers, from a start of its own. */
const program = `
import sys, json
import numpy as np
from scipy.optimize import least_squares
job = json.load(sys.stdin)
f = np.array(job['frequencyHz']); z = np.array(job['realOhm']) + 1j * np.array(job['imaginaryOhm'])
s = 2j * np.pi * f
def model(p):
    total = s * np.exp(p[0]) + np.exp(p[1]) + np.exp(p[2]) / np.sqrt(s.imag) * (1 - 1j)
    for k in (3, 6):
        total = total + np.exp(p[k]) / (1 + (s * np.exp(p[k + 1])) ** p[k + 2])
    return total
def residual(p):
    d = (z - model(p)) / np.abs(z)
    return np.concatenate([d.real, d.imag])
start = [np.log(1e-7), np.log(.02), np.log(.003), np.log(.005), np.log(.001), .8, np.log(.02), np.log(.1), .8]
fit = least_squares(residual, start, method='lm', xtol=1e-14, ftol=1e-14, gtol=1e-14, max_nfev=20000)
p = fit.x
cov = np.linalg.inv(fit.jac.T @ fit.jac) * 2 * fit.cost / (2 * len(f) - 9)
se = np.sqrt(np.diag(cov))
isLog = np.array([1, 1, 1, 1, 1, 0, 1, 1, 0], bool)
values = np.where(isLog, np.exp(p), p)
print(json.dumps({'values': list(values), 'errors': list(np.where(isLog, se * values, se))}))
`;

describe.skipIf(
  sharedIsMissing(folder) || isMissing('SciPy', python !== null, 'apt-get install python3-scipy'),
)('SciPy least_squares', () => {
  it.each(['3541_EIS00002', '3541_EIS00012', '3541_EIS00013'])(
    'agrees on the circuit of sweep %s: values to 0.1 %, standard errors to 1 %',
    (sweep) => {
      const spectrum = sweepsOf('eis_25degC.csv').get(sweep)!;
      const peer = runPython(python as string, program, {
        frequencyHz: [...spectrum.frequencyHz],
        realOhm: [...spectrum.realOhm],
        imaginaryOhm: [...spectrum.imaginaryOhm],
      }) as { values: number[]; errors: number[] };
      const fit = fitImpedanceCircuit(spectrum, { arcs: 2, withTail: true });
      fit.parameters.forEach(({ name, value, standardError }, i) => {
        expect(Math.abs(value / peer.values[i] - 1), name).toBeLessThan(1e-3);
        expect(Math.abs(standardError! / peer.errors[i] - 1), name).toBeLessThan(1e-2);
      });
    },
  );
});
