import { describe, expect, it } from 'vitest';
import { Intent } from '../../web/src/api/intent.ts';

function counted(): Intent {
  let count = 0;
  return new Intent(() => `key-${++count}`);
}

describe('what a person meant by pressing a button', () => {
  it('is one thing while it runs, and another where something else is asked', () => {
    const intent = counted();
    expect(intent.isSecondClick({ a: 1 }, 0)).toBe(false);
    const first = intent.begin({ a: 1 });
    expect(intent.isSecondClick({ a: 1 }, 5)).toBe(true);
    expect(intent.isSecondClick({ a: 2 }, 5)).toBe(false);
    intent.begin({ a: 2 });
    intent.end(first, 'refused', 10);
    expect(intent.isSecondClick({ a: 1 }, 11)).toBe(false);
    expect(intent.isSecondClick({ a: 2 }, 11)).toBe(true);
  });

  it('is the same thing when the second click of a double click comes after the answer', () => {
    const intent = counted();
    intent.end(intent.begin({ a: 1 }), 'done', 1000);
    expect(intent.isSecondClick({ a: 1 }, 1100)).toBe(true);
    expect(intent.isSecondClick({ a: 2 }, 1100)).toBe(false);
    expect(intent.isSecondClick({ a: 1 }, 2000)).toBe(false);
  });

  it('may be tried again at once where it was refused', () => {
    const intent = counted();
    intent.end(intent.begin({ a: 1 }), 'refused', 1000);
    expect(intent.isSecondClick({ a: 1 }, 1001)).toBe(false);
  });

  it('keeps its key where no answer came, and gets another for another input or after an answer', () => {
    const intent = counted();
    const first = intent.begin('x');
    intent.end(first, 'lost', 1000);
    expect(intent.isSecondClick('x', 1001)).toBe(false);
    const again = intent.begin('x');
    expect(again.key).toBe(first.key);
    intent.end(again, 'lost', 2000);
    const other = intent.begin('y');
    expect(other.key).not.toBe(first.key);
    intent.end(other, 'done', 3000);
    expect(intent.begin('y').key).not.toBe(other.key);
  });
});
