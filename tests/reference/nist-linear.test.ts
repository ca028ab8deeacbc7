import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { fitLinear } from '../../fitting/least-squares/linear/linear.ts';
import type { FitResult } from '../../fitting/least-squares/types.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';
import { correctDigits } from './nist-models.ts';

// Source: NIST/ITL Statistical Reference Datasets, linear regression,
// https://www.itl.nist.gov/div898/strd/lls/lls.shtml
const absent = sharedIsMissing('reference/nist_strd_linear.json');

interface LinearReference {
  readonly model: string;
  readonly n: number;
  readonly p: number;
  readonly certified: readonly number[];
  readonly exactSd: readonly string[];
  readonly exactResidualStandardDeviation: string;
  readonly y: readonly number[];
  readonly x: readonly number[] | readonly (readonly number[])[];
}

const problems: Record<string, LinearReference> = absent
  ? {}
  : JSON.parse(readFileSync(sharedPath('reference/nist_strd_linear.json'), 'utf8')).problems;

function solve(reference: LinearReference): FitResult {
  const { x, y, p, model } = reference;
  const through = model.startsWith('y = B1*x');
  const columns = Array.from({ length: p }, (_, j) =>
    Float64Array.from(x, (value: number | readonly number[]) => {
      if (typeof value !== 'number') return j === 0 ? 1 : value[j - 1];
      return through ? value : value ** j;
    }),
  );
  return fitLinear({ columns, y: Float64Array.from(y) });
}

describe.skipIf(absent)('NIST linear reference problems', () => {
  it.each(['Norris', 'NoInt1', 'Longley', 'Wampler1', 'Wampler3'])(
    '%s to 9 digits, errors included',
    (name) => {
      const reference = problems[name];
      const result = solve(reference);
      result.parameters.forEach((parameter, i) => {
        expect(correctDigits(parameter.value, reference.certified[i])).toBeGreaterThanOrEqual(9);
        const deviation = Number(reference.exactSd[i]);
        if (deviation === 0) expect(parameter.standardError).toBeLessThan(1e-9);
        else expect(correctDigits(parameter.standardError as number, deviation)).toBeGreaterThanOrEqual(9);
      });
      const sd = Number(reference.exactResidualStandardDeviation);
      if (sd > 0) expect(correctDigits(result.residualSd as number, sd)).toBeGreaterThanOrEqual(9);
      expect(result.rank).toBe(reference.p);
    },
  );

  it('Filip, a polynomial of degree 10, to 6 digits by powers of x as they stand', () => {
    const result = solve(problems.Filip);
    expect(result.rank).toBe(11);
    result.parameters.forEach((parameter, i) => {
      expect(correctDigits(parameter.value, problems.Filip.certified[i])).toBeGreaterThanOrEqual(6);
      expect(
        correctDigits(parameter.standardError as number, Number(problems.Filip.exactSd[i])),
      ).toBeGreaterThan(5);
    });
  });
});
