import { describe, expect, test } from 'vitest';
import { checkCertificate } from '../../../fitting/pairing/certificate.ts';
import { FeatureCosts } from '../../../fitting/pairing/featureCosts.ts';
import { FeatureSource } from '../../../fitting/pairing/featureSource.ts';
import { matchProvenBest } from '../../../fitting/pairing/provenMatching.ts';
import type { DualSolution } from '../../../fitting/pairing/sparseMatching.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

function lot(count: number) {
  const normal = normalSource(seededRandom(3));
  const costs = new FeatureCosts(
    [0, 1].map(() => ({
      values: Float64Array.from({ length: count }, normal),
      tolerance: 0.1,
      importance: 1,
      limit: Infinity,
    })),
  );
  return { costs, best: matchProvenBest(new FeatureSource(costs)) };
}

describe('checkCertificate', () => {
  const { costs, best } = lot(120);
  const partner = best.partner;
  const altered = (change: Partial<DualSolution>) =>
    checkCertificate(costs, { partner, dual: { ...best.dual, ...change } });

  test('confirms the untouched solution after looking at every pair', () => {
    expect(best.dual.setValues.length).toBeGreaterThan(3);
    expect(best.check).toMatchObject({ proven: true, checkedPairs: (120 * 119) / 2, violatedPairs: 0 });
    expect(best.check.lowerBound).toBe(best.check.total);
  });

  test('rejects any single cell value that was raised or lowered', () => {
    for (let v = 0; v < 120; v += 7) {
      for (const change of [-2, 2, 1e6]) {
        const vertexValues = best.dual.vertexValues.slice();
        vertexValues[v] += change;
        expect(altered({ vertexValues }).proven).toBe(false);
      }
    }
  });

  test('rejects a set value that was changed, negative, or whose set lost a cell', () => {
    for (let s = 0; s < best.dual.setValues.length; s++) {
      const setValues = best.dual.setValues.slice();
      setValues[s] += 2;
      expect(altered({ setValues }).failure).toBe('totals-differ');
      setValues[s] = -2;
      expect(altered({ setValues }).failure).toBe('set-value-negative');
    }
    const setOfVertex = best.dual.setOfVertex.slice();
    setOfVertex[setOfVertex.findIndex((set) => set !== -1)] = -1;
    expect(altered({ setOfVertex }).proven).toBe(false);
    const parentOfSet = best.dual.parentOfSet.map(() => 0);
    expect(altered({ parentOfSet }).failure).toBe('sets-malformed');
  });

  test('rejects a price of leaving over that would let pairs be dropped', () => {
    expect(altered({ leftOver: 1 }).proven).toBe(false);
    const highest = best.dual.vertexValues.reduce((a, b) => Math.max(a, b));
    expect(altered({ leftOver: highest }).failure).toBe('left-over-price-too-low');
  });

  test('rejects a worse pairing under the right dual solution, and still gives its bound', () => {
    const worse = partner.slice();
    const [a, c] = [0, 1];
    const [b, d] = [partner[a], partner[c]];
    worse[a] = c;
    worse[c] = a;
    worse[b] = d;
    worse[d] = b;
    const check = checkCertificate(costs, { partner: worse, dual: best.dual });
    expect(check.failure).toBe('totals-differ');
    expect(check.lowerBound).toBe(best.check.total);
    expect(check.total).toBeGreaterThan(best.check.total);
  });

  test('rejects partners that do not agree', () => {
    const broken = partner.slice();
    broken[0] = partner[1];
    expect(checkCertificate(costs, { partner: broken, dual: best.dual }).failure).toBe('not-a-matching');
  });
});
