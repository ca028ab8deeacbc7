import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { measuredConverter } from '../../fitting/charging/converterMeasured.ts';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { createSupplyPart, type SupplyPart } from '../../server/contract/supplyParts.ts';
import { keepSupplyPart } from '../../server/use-cases/supply-parts/keepSupplyPart.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

let test: TestApp;
beforeAll(async () => {
  test = await openTestApp();
});
afterAll(() => test.close());

/** A converter of ratio 2 with 12 mohm and 25 mA, read by meters good to 0.05 %. */
function benchPoint(outputCurrentA: number, normal: () => number) {
  const outputVoltageV = 8.1;
  const read = (value: number) => value * (1 + 5e-4 * normal());
  return {
    outputVoltageV: read(outputVoltageV),
    outputCurrentA: read(outputCurrentA),
    inputVoltageV: read(2 * (outputVoltageV + 0.012 * outputCurrentA)),
    inputCurrentA: read(outputCurrentA / 2 + 0.025),
  };
}
const lossAt = (currentA: number) => 0.012 * currentA ** 2 + 2 * 0.025 * (8.1 + 0.012 * currentA);

describe('a converter from measured operating points', () => {
  it('of two points has intervals that hold resistance, fixed loss and the loss at a third point in at least 95 % of cases', () => {
    const cases = 400;
    let [ohm, fixed, third] = [0, 0, 0];
    const holds = ({ low, high }: { low: number; high: number }, truth: number) =>
      truth >= low && truth <= high ? 1 : 0;
    for (let seed = 1; seed <= cases; seed++) {
      const normal = normalSource(seededRandom(seed));
      const found = measuredConverter(2, [benchPoint(2, normal), benchPoint(6, normal)]);
      ohm += holds(found.outputResistanceOhm, 0.012);
      fixed += holds(found.fixedLossCurrentA, 0.025);
      const at = found.curve.find(({ outputCurrentA }) => Math.abs(outputCurrentA - 4) < 0.01);
      third += holds(at!.lossW, lossAt(at!.outputCurrentA));
    }
    for (const covered of [ohm, fixed, third]) expect(covered / cases).toBeGreaterThanOrEqual(0.95);
  });

  it('gives the exact values of points without error, and a curve of their efficiency', () => {
    const exact = [2, 6].map((outputCurrentA) => benchPoint(outputCurrentA, () => 0));
    const { outputResistanceOhm, fixedLossCurrentA, curve } = measuredConverter(2, exact);
    expect(outputResistanceOhm.value).toBeCloseTo(0.012, 10);
    expect(fixedLossCurrentA.value).toBeCloseTo(0.025, 10);
    const last = curve[curve.length - 1];
    expect(last.efficiency.value).toBeCloseTo((8.1 * 6) / (8.1 * 6 + lossAt(6)), 10);
    expect(last.efficiency.low).toBeLessThan(last.efficiency.value);
  });
});

describe('converters, cables and sources are things with a name', () => {
  const point = (outputCurrentA: number) => benchPoint(outputCurrentA, () => 0);
  const converter = (maxPathCurrentA: number) =>
    createSupplyPart.parse({
      kind: 'converter',
      name: 'CP 2:1',
      temperatureLimitC: 85,
      description: {
        ratioStage: { ratio: 2, maxPathCurrentA, operatingPoints: { points: [point(2), point(6)] } },
      },
    });

  it('whose change makes another revision and leaves the earlier one as it was', async () => {
    const first = await keepSupplyPart(test.context, converter(6));
    const second = await keepSupplyPart(test.context, converter(8));
    expect([first.revision, second.revision]).toEqual([1, 2]);
    const { body: before } = await request(test.app).get(`/api/v1/supply-parts/${first.id}`);
    expect(before).toMatchObject({ revision: 1, description: first.description });
    expect(before.supersededAt).not.toBeNull();
    const { body } = await request(test.app).get('/api/v1/supply-parts?kind=converter');
    expect(body.items.map(({ id }: SupplyPart) => id)).toEqual([second.id]);
    expect(body.items[0].measured.converter.outputResistanceOhm.value).toBeCloseTo(0.012, 9);
  });

  it('and refuse what no study could take, naming the field', async () => {
    const { status, body } = await request(test.app)
      .post('/api/v1/supply-parts')
      .send({
        kind: 'converter',
        name: 'no losses twice',
        description: { ratioStage: { ratio: 2, paths: 2 } },
      });
    expect(status).toBe(422);
    expect(body.errors[0].field).toBe('description.ratioStage.maxPathCurrentA');
  });
});
