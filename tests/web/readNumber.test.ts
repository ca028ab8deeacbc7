import { describe, expect, it } from 'vitest';
import { readNumber } from '../../web/src/format/readNumber.ts';

describe('a number that somebody types or pastes', () => {
  it.each([
    ['3.05', 3.05],
    ['3,05', 3.05],
    ['1e3', 1000],
    ['2,5e-1', 0.25],
    ['−20', -20],
    [' 12 ', 12],
    ['0,125', 0.125],
    ['.5', 0.5],
    ['', null],
    ['-', null],
  ])('reads %j as %j', (text, value) => {
    expect(readNumber(text)).toEqual({ value, problem: null });
  });

  it.each([
    ['3000 mAh', /unit/],
    ['3.2 Ah', /unit/],
    ['3,050', /3\.050 or 3050/],
    ["1'000", /thousands/],
    ['1 000', /thousands/],
    ['1.000,5', /thousands/],
    ['about 3', /not a number/],
    ['1e999', /too large/],
  ])('refuses %j instead of taking a part of it', (text, problem) => {
    const found = readNumber(text);
    expect(found.value).toBeNull();
    expect(found.problem).toMatch(problem);
  });
});
