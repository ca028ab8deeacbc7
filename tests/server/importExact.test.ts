import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bufferSource } from '../../server/import/byteSource.ts';
import { readRuns } from '../../server/import/readRecordFile.ts';

const wide = {
  voltageMinV: -Number.MAX_VALUE,
  voltageMaxV: Number.MAX_VALUE,
  currentMaxA: Number.MAX_VALUE,
};

/** Number texts of every shape that plain decimal notation allows. */
const digits = (max: number) => fc.stringMatching(new RegExp(`^[0-9]{1,${max}}$`));
const numberText = fc
  .record({
    sign: fc.constantFrom('', '-', '+'),
    whole: fc.oneof(digits(3), digits(9), digits(25)),
    fraction: fc.option(fc.oneof(digits(4), digits(9), digits(30)), { nil: null }),
    exponent: fc.option(fc.integer({ min: -330, max: 300 }), { nil: null, freq: 4 }),
  })
  .map(({ sign, whole, fraction, exponent }) => {
    return `${sign}${whole}${fraction === null ? '' : `.${fraction}`}${exponent === null ? '' : `e${exponent}`}`;
  })
  .filter((text) => Number.isFinite(Number(text)));

describe('a number read from a record file', () => {
  it('is Number() of its text, bit for bit, whatever its length', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(numberText, { minLength: 1, maxLength: 60 }),
        fc.constantFrom(',', ';', '\t'),
        async (texts, delimiter) => {
          const rows = texts.map((text, i) => [String(i), text, text].join(delimiter));
          const content = `${['time_s', 'voltage_V', 'current_A'].join(delimiter)}\n${rows.join('\n')}\n`;
          const [run] = await readRuns(bufferSource(Buffer.from(content)), { limits: wide, delimiter });
          const expected = texts.map(Number);
          for (let i = 0; i < texts.length; i++) {
            expect(
              Object.is(run.columns.voltageV[i], expected[i]),
              `${texts[i]} gave ${run.columns.voltageV[i]}`,
            ).toBe(true);
            expect(Object.is(run.columns.currentA[i], expected[i])).toBe(true);
          }
        },
      ),
      { numRuns: 300 },
    );
  });

  it('with a decimal comma is Number() of the text with a point', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(numberText, { minLength: 1, maxLength: 40 }), async (texts) => {
        const rows = texts.map((text, i) => `${i};${text.replace('.', ',')};0,0`);
        const content = `time_s;voltage_V;current_A\n${rows.join('\n')}\n`;
        const [run] = await readRuns(bufferSource(Buffer.from(content)), { limits: wide, decimal: ',' });
        expect([...run.columns.voltageV]).toEqual(texts.map(Number));
      }),
      { numRuns: 150 },
    );
  });

  it('in milliamperes or milliseconds is the float64 nearest to the exact decimal', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(
          fc.tuple(fc.integer({ min: -99_999_999, max: 99_999_999 }), fc.integer({ min: 0, max: 8 })),
          {
            minLength: 1,
            maxLength: 50,
          },
        ),
        async (parts) => {
          const texts = parts.map(([integer, decimals]) => {
            const text = String(Math.abs(integer)).padStart(decimals + 1, '0');
            const at = text.length - decimals;
            return `${integer < 0 ? '-' : ''}${text.slice(0, at)}${decimals > 0 ? `.${text.slice(at)}` : ''}`;
          });
          const rows = texts.map((text, i) => `${i}.5,3.7,${text}`);
          const [run] = await readRuns(
            bufferSource(Buffer.from(`time (ms),voltage (V),current (mA)\n${rows.join('\n')}\n`)),
            { limits: wide },
          );
          expect([...run.columns.currentA]).toEqual(texts.map((text) => Number(`${text}e-3`)));
          expect([...run.columns.timeS]).toEqual(texts.map((_, i) => Number(`${i}.5e-3`)));
        },
      ),
      { numRuns: 150 },
    );
  });

  it('in hours or minutes is the float64 nearest to the exact number of seconds', async () => {
    const rows = Array.from({ length: 5000 }, (_, i) => `${i / 1000},3.7,0`);
    const [hours] = await readRuns(
      bufferSource(Buffer.from(`time_h,voltage_V,current_A\n${rows.join('\n')}\n`)),
    );
    expect([...hours.columns.timeS]).toEqual(rows.map((_, i) => (i * 36) / 10));
    const [minutes] = await readRuns(
      bufferSource(Buffer.from(`time (min),voltage_V,current_A\n${rows.join('\n')}\n`)),
    );
    expect([...minutes.columns.timeS]).toEqual(rows.map((_, i) => (i * 6) / 100));
  });
});
