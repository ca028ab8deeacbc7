import { describe, expect, it } from 'vitest';
import { circuitValue, fitCircuit } from '../../fitting/circuit/fit/fitCircuit.ts';
import { circuitWindow } from '../../fitting/circuit/window/circuitWindow.ts';
import { pulseFitRecords } from '../bench/pulseFitRecords.ts';
import { findPython, runPython } from '../support/python.ts';
import { isMissing } from '../support/required.ts';

const python = findPython('numpy', 'scipy');

/** The same circuit, its response by SciPy's own filter of the current, fitted by least_squares. */
const program = `
import sys, json
import numpy as np
from scipy.optimize import least_squares
job = json.load(sys.stdin)
out = []
for r in job['records']:
    t = np.array(r['timeS']); i = np.array(r['currentA']); v = np.array(r['voltageV']); sharp = set(r['sharpRows'])
    begin = np.array([i[k] if k in sharp else i[k - 1] for k in range(1, len(i))])
    def branch(tau):
        u = np.zeros(len(t))
        for k in range(1, len(t)):
            x = (t[k] - t[k - 1]) / tau
            E = np.exp(-x); f = -np.expm1(-x) / x
            u[k] = E * u[k - 1] + (1 - f) * i[k] + (f - E) * begin[k - 1]
        return u
    def residual(p):
        return (p[0] + p[1] * i + p[2] * branch(np.exp(p[3])) + p[4] * branch(np.exp(p[5])) - v)[1:] * 1e3
    fit = least_squares(residual, [v[0], 0.03, 0.015, np.log(3), 0.015, np.log(30)], x_scale=[1, .01, .01, 1, .01, 1],
                        xtol=1e-12, ftol=1e-12, gtol=1e-12)
    p = fit.x
    cov = np.linalg.inv(fit.jac.T @ fit.jac) * 2 * fit.cost / (len(t) - 1 - 6)
    se = np.sqrt(np.diag(cov))
    out.append({'values': [p[0], p[1], p[2], np.exp(p[3]), p[4], np.exp(p[5])],
                'errors': [se[0], se[1], se[2], se[3] * np.exp(p[3]), se[4], se[5] * np.exp(p[5])]})
print(json.dumps(out))
`;

describe.skipIf(isMissing('SciPy', python !== null, 'apt-get install python3-scipy'))(
  'SciPy least_squares',
  () => {
    it.each([true, false])(
      'agrees to 0.1 % on the same pulses, values and standard errors (equal intervals: %s)',
      (uniform) => {
        const records = pulseFitRecords(uniform ? 2 : 1, uniform, 77);
        const peer = runPython(python as string, program, {
          records: records.map((record) => ({
            timeS: [...record.timeS],
            currentA: [...record.currentA],
            voltageV: [...record.voltageV],
            sharpRows: record.sharpRows,
          })),
        }) as { values: number[]; errors: number[] }[];
        records.forEach((record, k) => {
          const circuit = fitCircuit(circuitWindow({ ...record, firstScored: 1 }), { branches: 2 });
          ['ocvV', 'r0Ohm', 'r1Ohm', 'tau1S', 'r2Ohm', 'tau2S'].forEach((name, i) => {
            expect(Math.abs(circuitValue(circuit, name) / peer[k].values[i] - 1)).toBeLessThan(1e-3);
            const error = circuit.parameters.find((one) => one.name === name)?.standardError ?? Number.NaN;
            expect(Math.abs(error / peer[k].errors[i] - 1)).toBeLessThan(1e-2);
          });
        });
      },
    );
  },
);
