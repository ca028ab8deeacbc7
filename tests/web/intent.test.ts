import { describe, expect, it } from 'vitest';
import { Intent } from '../../web/src/api/intent.ts';

function counted(): Intent {
  let count = 0;
  return new Intent(() => `key-${++count}`);
}

describe('what a person meant by pressing a button', () => {
  it('is one thing while it runs, whatever else is pressed', () => {
    const intent = counted();
    expect(intent.isSecondClick({ a: 1 }, 0)).toBe(false);
    intent.begin({ a: 1 });
    expect(intent.isSecondClick({ a: 1 }, 5)).toBe(true);
    expect(intent.isSecondClick({ a: 2 }, 5)).toBe(true);
  });

  it('is the same thing when the second click of a double click comes after the answer', () => {
    const intent = counted();
    intent.begin({ a: 1 });
    intent.end('done', 1000);
    expect(intent.isSecondClick({ a: 1 }, 1100)).toBe(true);
    expect(intent.isSecondClick({ a: 2 }, 1100)).toBe(false);
    expect(intent.isSecondClick({ a: 1 }, 2000)).toBe(false);
  });

  it('may be tried again at once where it was refused', () => {
    const intent = counted();
    intent.begin({ a: 1 });
    intent.end('refused', 1000);
    expect(intent.isSecondClick({ a: 1 }, 1001)).toBe(false);
  });

  it('keeps its key where no answer came, and gets another for another input or after an answer', () => {
    const intent = counted();
    expect(intent.begin('x')).toBe('key-1');
    intent.end('lost', 1000);
    expect(intent.isSecondClick('x', 1001)).toBe(false);
    expect(intent.begin('x')).toBe('key-1');
    intent.end('lost', 2000);
    expect(intent.begin('y')).toBe('key-2');
    intent.end('done', 3000);
    expect(intent.begin('y')).toBe('key-3');
  });
});
