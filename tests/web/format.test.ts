import { describe, expect, it } from 'vitest';
import { fixed, significant, whole, withUncertainty } from '../../web/src/format/number.ts';
import {
  bareQuantity,
  labelled,
  missing,
  quantity,
  quantityWithUncertainty,
} from '../../web/src/format/quantity.ts';
import { instant, span } from '../../web/src/format/time.ts';
import { defaultUnits } from '../../web/src/settings/units.ts';

const plain = { resistance: 'Ω', capacity: 'mAh' } as const;

describe('numbers on the pages', () => {
  it('keep the asked significant digits and a true minus sign', () => {
    expect(significant(2.20416)).toBe('2.204');
    expect(significant(-0.02783)).toBe('−0.02783');
    expect(significant(123456)).toBe('123456');
    expect(significant(0)).toBe('0');
    expect(significant(1.5e-7, 3)).toBe('1.50e−7');
  });

  it('refuse what is not a number instead of printing it', () => {
    expect(() => significant(Number.NaN)).toThrow(/finite/);
  });

  it('round an uncertainty to two digits and the value to the same place (JCGM 100:2008, 7.2.6)', () => {
    expect(withUncertainty(100.02147, 0.00035)).toBe('100.02147 ± 0.00035');
    expect(withUncertainty(27.8349, 0.1234)).toBe('27.83 ± 0.12');
    expect(withUncertainty(1234.5, 20)).toBe('1235 ± 20');
    expect(withUncertainty(2.2, 0)).toBe('2.200');
  });

  it('never print a negative zero', () => {
    expect(fixed(-0.0001, 2)).toBe('0.00');
    expect(whole(5000)).toBe('5 000');
    expect(whole(1234567)).toBe('1 234 567');
  });
});

describe('quantities', () => {
  it('change their unit with the choice and not their value', () => {
    expect(quantity(0.02783, 'Ohm', defaultUnits)).toBe('27.83 mΩ');
    expect(quantity(0.02783, 'ohm', plain)).toBe('0.02783 Ω');
    expect(quantity(2.2041, 'Ah', defaultUnits)).toBe('2.204 Ah');
    expect(quantity(2.2041, 'Ah', plain)).toBe('2204 mAh');
    expect(quantityWithUncertainty(0.02783, 0.00012, 'Ohm', defaultUnits)).toBe('27.83 ± 0.12 mΩ');
  });

  it('know the codes in which units are stored', () => {
    expect(quantity(2.218, 'A.h', defaultUnits)).toBe('2.218 Ah');
    expect(quantity(0.01562, 'Ω', defaultUnits)).toBe('15.62 mΩ');
    expect(quantity(-1.9, 'mV/d', defaultUnits, 3)).toBe('−1.90 mV/d');
    expect(quantity(25, 'Cel', defaultUnits, 3)).toBe('25.0 °C');
    expect(quantity(-0.0002, 'A.h/{cycle}', plain, 2)).toBe('−0.20 mAh/cycle');
  });

  it('show a gap where the number is missing', () => {
    expect(quantity(null, 'Ohm', defaultUnits)).toBe(missing);
    expect(bareQuantity(undefined, 'Ah', defaultUnits)).toBe(missing);
    expect(quantityWithUncertainty(null, 0.1, 'Ah', defaultUnits)).toBe(missing);
  });

  it('keep an unknown unit as it is stored', () => {
    expect(quantity(3, 'lx', defaultUnits)).toBe('3.000 lx');
    expect(labelled('Resistance', 'Ohm', plain)).toBe('Resistance, Ω');
  });
});

describe('times', () => {
  it('are shown in the zone of the reader', () => {
    expect(instant('2026-03-01T23:30:00.000Z', 'Asia/Tokyo')).toBe('2 Mar 2026, 08:30');
    expect(instant('2026-03-01T23:30:00.000Z', 'America/New_York')).toBe('1 Mar 2026, 18:30');
    expect(instant(null)).toBe('–');
  });

  it('come as spans in readable units', () => {
    expect(span(0.2)).toBe('0.2 s');
    expect(span(48)).toBe('48 s');
    expect(span(5400)).toBe('90 min');
    expect(span(9000)).toBe('2 h 30 min');
    expect(span(2 * 86400 * 7)).toBe('14 d');
  });
});
