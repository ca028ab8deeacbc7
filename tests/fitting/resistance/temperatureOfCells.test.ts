import { describe, expect, it } from 'vitest';
import { fitTemperature, temperatureFactor } from '../../../fitting/resistance/temperatureDependence.ts';
import {
  type CellResistanceAtTemperature,
  fitTemperatureOfCells,
} from '../../../fitting/resistance/temperatureOfCells.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { findPython, runPython } from '../../support/python.ts';
import { isMissing } from '../../support/required.ts';

const ENERGY = 30_000;
const python = findPython('scipy');
const withoutSciPy = isMissing('SciPy', python !== null, 'apt-get install python3-scipy');

/** Cells of unlike levels; the first was in the cold alone. */
const measured = (
  levels: readonly number[],
  scatter: () => number = () => 0,
): CellResistanceAtTemperature[] =>
  levels.flatMap((level, cell) =>
    (cell === 0 ? [-10, 10, 25, 40] : [10, 25, 40]).map((temperatureC) => ({
      cell,
      temperatureC,
      valueOhm: level * temperatureFactor(ENERGY, 25, temperatureC) * Math.exp(scatter()),
    })),
  );

describe('fitTemperatureOfCells(points)', () => {
  it('gives the energy exactly however unlike the cells are, where one level for all would not', () => {
    const points = measured([0.04, 0.03, 0.03]);
    const fit = fitTemperatureOfCells(points);
    expect(fit?.activationJPerMol).toBeCloseTo(ENERGY, 4);
    expect(fit?.referenceOhm).toBeCloseTo(Math.cbrt(0.04 * 0.03 * 0.03), 10);
    expect(fit?.largestDeviation).toBeLessThan(1e-12);
    expect(fit?.fallsThroughout).toBe(true);
    expect(Math.abs((fitTemperature(points)?.activationJPerMol ?? 0) - ENERGY)).toBeGreaterThan(500);
  });

  it('is the ordinary fit for one cell, and none where no cell was at two temperatures', () => {
    const one = measured([0.03]);
    expect(fitTemperatureOfCells(one)).toEqual(fitTemperature(one));
    expect(
      fitTemperatureOfCells([
        { cell: 1, temperatureC: 10, valueOhm: 0.04 },
        { cell: 2, temperatureC: 40, valueOhm: 0.02 },
      ]),
    ).toBeNull();
    expect(() => fitTemperatureOfCells(measured([0.03, 0]))).toThrow(/above 0/);
  });

  it('states no errors without a reading to spare', () => {
    const points = [10, 40].map((temperatureC) => ({ cell: 1, temperatureC, valueOhm: 0.5 / temperatureC }));
    const fit = fitTemperatureOfCells([...points, { cell: 2, temperatureC: 25, valueOhm: 0.02 }]);
    expect(fit).toMatchObject({ activationStandardErrorJPerMol: null, covariance: null });
  });

  it('holds the energy within its 95 % interval about as often as it says, and the typical level too', () => {
    const normal = normalSource(seededRandom(31));
    const rounds = 1000;
    const cells = 6;
    let energies = 0;
    let levels = 0;
    for (let round = 0; round < rounds; round++) {
      const truth = Array.from({ length: cells }, () => 0.03 * Math.exp(0.05 * normal()));
      const fit = fitTemperatureOfCells(measured(truth, () => 0.01 * normal()));
      if (fit?.activationStandardErrorJPerMol == null || fit.referenceStandardErrorOhm === null)
        throw new Error('no errors');
      // Student's t, two-sided 95 %: 12 and 5 degrees of freedom.
      if (Math.abs(fit.activationJPerMol - ENERGY) < 2.179 * fit.activationStandardErrorJPerMol) energies++;
      const relative = fit.referenceStandardErrorOhm / fit.referenceOhm;
      if (Math.abs(Math.log(fit.referenceOhm / 0.03)) < 2.571 * relative) levels++;
    }
    for (const held of [energies, levels]) {
      expect(held / rounds).toBeGreaterThan(0.93);
      expect(held / rounds).toBeLessThan(0.97);
    }
  });

  it.skipIf(withoutSciPy)(
    'agrees with a general least-squares solution that has a column for each cell',
    async () => {
      if (python === null) throw new Error('SciPy is missing');
      const normal = normalSource(seededRandom(5));
      const points = measured([0.04, 0.03, 0.032, 0.029], () => 0.02 * normal());
      const fit = fitTemperatureOfCells(points);
      const [energy, error] = runPython(
        python,
        `
import json, sys
import numpy as np
from scipy import linalg
p = json.load(sys.stdin)
cells = sorted({q["cell"] for q in p})
x = np.array([1 / (q["temperatureC"] + 273.15) - 1 / 298.15 for q in p])
A = np.column_stack([[float(q["cell"] == c) for q in p] for c in cells] + [x])
y = np.log([q["valueOhm"] for q in p])
b, rss, _, _ = linalg.lstsq(A, y)
r = y - A @ b
v = r @ r / (len(y) - A.shape[1]) * linalg.inv(A.T @ A)
print(json.dumps([8.314462618 * b[-1], 8.314462618 * v[-1, -1] ** 0.5]))
`,
        points,
      ) as [number, number];
      expect(fit?.activationJPerMol).toBeCloseTo(energy, 4);
      expect(fit?.activationStandardErrorJPerMol).toBeCloseTo(error, 4);
    },
  );
});
