import { describe, expect, it } from 'vitest';
import { fitTemperature, temperatureFactor } from '../../fitting/resistance/temperatureDependence.ts';
import type { TemperatureLaw } from '../../server/contract/temperature.ts';
import { insertionsPicture } from '../../web/src/charts/insertions.ts';
import { pictureTable } from '../../web/src/charts/pictureTable.ts';
import { lawAt, orderedLaws, temperatureLawsPicture } from '../../web/src/charts/temperatureLaws.ts';
import { lawRemarks, sinceSentence, withoutSentence } from '../../web/src/words/temperature.ts';

const units = { resistance: 'mΩ', capacity: 'Ah' } as const;

/** Five readings that scatter by a few percent about 20 kJ/mol. */
const readings = [-10, 5, 20, 35, 50].map((temperatureC, i) => ({
  temperatureC,
  valueOhm: 0.02 * temperatureFactor(20_000, 25, temperatureC) * (1 + 0.03 * (i % 2 === 0 ? 1 : -1)),
}));

function lawOf(referenceC: number, change: Partial<TemperatureLaw> = {}): TemperatureLaw {
  const fit = fitTemperature(readings, referenceC);
  if (fit === null) throw new Error('no fit');
  return {
    ...fit,
    temperatureErrorC: null,
    covariance: fit.covariance === null ? null : fit.covariance.map((row) => [...row]),
    key: 'resistance/10s/discharge/soc50',
    quantity: 'resistance',
    durationS: 10,
    direction: 'discharge',
    soc: 0.5,
    referenceExtrapolated: false,
    readings: 5,
    cells: 1,
    basis: 'same-cells',
    currentsA: null,
    mixedCurrents: null,
    residualChecks: null,
    band: [],
    points: readings.map((r) => ({
      temperatureC: r.temperatureC,
      readings: 1,
      meanOhm: r.valueOhm,
      standardDeviationOhm: null,
      fittedOhm: r.valueOhm,
    })),
    ...change,
  };
}

describe('a temperature law', () => {
  it('is the same curve with the same band, whatever its reference temperature', () => {
    for (const celsius of [-10, 25, 50]) {
      const [low, high] = [0, 40].map((referenceC) => lawAt(lawOf(referenceC), celsius));
      expect(low.ohm).toBeCloseTo(high.ohm, 9);
      expect(low.relativeError).toBeCloseTo(high.relativeError ?? 0, 9);
    }
    // At its own reference the band is the standard error of the resistance there.
    const law = lawOf(25);
    expect(lawAt(law, 25).ohm).toBe(law.referenceOhm);
    expect(lawAt(law, 25).relativeError).toBeCloseTo(
      (law.referenceStandardErrorOhm ?? 0) / law.referenceOhm,
      12,
    );
  });

  it('is drawn over the measured temperatures and not beyond, with band, points, reference and units', () => {
    const picture = temperatureLawsPicture([lawOf(25)], units);
    expect([picture.x.unit, picture.y.unit]).toEqual(['°C', 'mΩ']);
    expect(picture.areas).toMatchObject([{ from: -10, to: 50 }]);
    expect(picture.lines).toMatchObject([{ axis: 'x', at: 25, name: 'reference 25 °C' }]);
    const [high, low, curve, points] = picture.series;
    for (const { points: own } of [high, low, curve])
      expect([own[0].x, own[own.length - 1].x]).toEqual([-10, 50]);
    expect(low.fillTo).toBe(0);
    curve.points.forEach((at, i) => {
      expect(low.points[i].y).toBeLessThan(at.y ?? 0);
      expect(high.points[i].y).toBeGreaterThan(at.y ?? 0);
    });
    expect(points).toMatchObject({ name: 'R(10 s), discharge, 50 % SOC', draw: 'points' });
    expect(points.points.map(({ y }) => y)).toEqual(readings.map((r) => r.valueOhm * 1000));
  });

  it('has no band where nothing is known of its uncertainty, and the axis reaches a reference outside', () => {
    const bare = lawOf(80, { covariance: null, activationStandardErrorJPerMol: null });
    const picture = temperatureLawsPicture([bare, lawOf(25)], units);
    expect(picture.series.map(({ draw, fillTo }) => [draw, fillTo])).toEqual([
      ['line', undefined],
      ['points', undefined],
      ['line', undefined],
      ['line', 2],
      ['line', undefined],
      ['points', undefined],
    ]);
    expect(picture.x.max).toBeGreaterThan(80);
    expect(picture.areas).toEqual([]);
    expect(new Set(picture.series.filter((s) => s.draw === 'points').map((s) => s.shape)).size).toBe(2);
  });

  it('at the reference SOC and nearest to 10 s comes first', () => {
    const laws = [
      lawOf(25, { key: 'far', soc: 0.1 }),
      lawOf(25, { key: 'short', durationS: 0.1 }),
      lawOf(25, { key: 'charge', direction: 'charge' }),
      lawOf(25, { key: 'first' }),
    ];
    expect(orderedLaws(laws, 0.5).map(({ key }) => key)).toEqual(['first', 'short', 'charge', 'far']);
  });

  it('carries a sentence for each thing a reader must know', () => {
    expect(lawRemarks(lawOf(25))).toEqual([]);
    const all = lawOf(25, {
      basis: 'different-cells',
      currentsA: { lowest: 2, highest: 8 },
      mixedCurrents: true,
      activationStandardErrorJPerMol: null,
      fallsThroughout: false,
      referenceExtrapolated: true,
    });
    expect(lawRemarks(all)).toHaveLength(5);
    expect(lawRemarks(all)[1]).toContain('Pulses of 2.0 to 8.0 A are mixed');
  });

  it('says that it is out of date and why, and which resistances have none', () => {
    expect(sinceSentence({ added: 0, gone: 0, referenceChanged: false })).toBeNull();
    expect(sinceSentence({ added: 12, gone: 1, referenceChanged: true })).toBe(
      'Out of date: since this was assessed 12 resistances came in, and one resistance was replaced or taken back, and the reference temperature was changed. Pairing still uses what is shown here; assess it again.',
    );
    expect(withoutSentence([])).toBeNull();
    expect(withoutSentence([{ key: 'impedance-1khz', reason: 'one-temperature' }])).toBe(
      'Resistances without a law: 1 measured within 5 °C only.',
    );
  });
});

describe('repeated insertions', () => {
  it('are drawn as a row of points for each cell with its mean, and read as rows in the order of the cells', () => {
    const picture = insertionsPicture({
      title: 'R: repeated insertions',
      label: 'R(10 s)',
      unit: 'mΩ',
      cells: [
        { serial: 'B', readings: [31, 30] },
        { serial: 'A', readings: [20, 22] },
      ],
    });
    expect(picture.y.ticks?.map(({ name }) => name)).toEqual(['B', 'A']);
    expect(pictureTable(picture)).toEqual({
      columns: ['Series', 'R(10 s), mΩ', 'Cell'],
      rows: [
        ['Mean of the cell', 30.5, 'B'],
        ['Mean of the cell', 21, 'A'],
        ['One insertion', 31, 'B'],
        ['One insertion', 30, 'B'],
        ['One insertion', 20, 'A'],
        ['One insertion', 22, 'A'],
      ],
    });
  });
});
