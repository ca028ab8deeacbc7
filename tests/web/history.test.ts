import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { actionWords, detailWords } from '../../web/src/words/history.ts';
import { plainCode } from '../../web/src/words/reasons.ts';

const useCases = fileURLToPath(new URL('../../server/use-cases/', import.meta.url));

/** Actions whose subject can belong to a cell or a stack, as the service writes them. */
const written = readdirSync(useCases, { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.ts'))
  .flatMap((name) => [
    ...readFileSync(`${useCases}${name}`, 'utf8').matchAll(
      /action: '((?:cell|stack|test|pair|pairing|measurement|file|stack-log|charge-study)\.[a-z-]+)'/g,
    ),
  ])
  .map(([, action]) => action);

describe('what happened to a cell or a stack', () => {
  it('has words for every action that the service writes down', () => {
    expect(written.length).toBeGreaterThan(15);
    expect(written.filter((action) => actionWords(action) === plainCode(action))).toEqual([]);
  });

  it('says what a person reads and leaves out identifiers, hashes and versions', () => {
    expect(detailWords({ exportId: 7, format: 'c-header', sha256: 'c1bb' })).toBe(' (c-header)');
    expect(detailWords({ name: 'Lot 7', pairs: 22, proven: true })).toBe(' (Lot 7, 22 pairs, proven best)');
    expect(detailWords({ kind: 'pulse', fit: 106, version: '1.9.0' })).toBe(' (pulse)');
    expect(detailWords({ fields: 'checkUpDueAt', cells: null })).toBe('');
  });
});
