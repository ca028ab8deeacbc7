import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { reasonSentences } from '../../server/contract/reasons.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

/** Why a charge ended or a certificate holds is worded where charges and proofs are. */
const wordedElsewhere = new Set(['endReason', 'PairingCertificate.reason']);

interface Schema {
  readonly enum?: readonly unknown[];
  readonly const?: unknown;
  readonly [key: string]: unknown;
}

/** Every code that a field named `reason` or `…Reason` of the document may hold, with the path to it. */
function codesOf(schema: unknown, path: readonly string[] = []): { path: string; code: string }[] {
  if (typeof schema !== 'object' || schema === null) return [];
  if (Array.isArray(schema)) return schema.flatMap((one) => codesOf(one, path));
  return Object.entries(schema).flatMap(([name, value]) => {
    if (name === 'properties')
      return Object.entries(value as Record<string, Schema>).flatMap(([field, inner]) => [
        ...(/(^r|R)eason$/.test(field)
          ? literals(inner).map((code) => ({ path: [...path, field].join('.'), code }))
          : []),
        ...codesOf(inner, [...path, field]),
      ]);
    return codesOf(value, name === 'schemas' || /^[a-z]/.test(name) ? path : [...path, name]);
  });
}

function literals(schema: Schema): string[] {
  const inner = [schema, ...((schema.anyOf as Schema[] | undefined) ?? [])];
  return inner
    .flatMap((one) => [...(one.enum ?? []), one.const])
    .filter((code): code is string => typeof code === 'string');
}

describe('reason codes', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await openTestApp();
  });
  afterAll(() => test.close());

  it('have a sentence each, wherever an answer may hold one', async () => {
    const { body } = await request(test.app).get('/api/v1/openapi.json');
    const codes = codesOf(body).filter(({ path }) => ![...wordedElsewhere].some((end) => path.endsWith(end)));
    expect(codes.length).toBeGreaterThan(100);
    expect(
      codes.filter(({ code }) => !(code in reasonSentences)).map(({ path, code }) => `${path}: ${code}`),
    ).toEqual([]);
  });

  it('are explained by one sentence each that ends with a full stop', () => {
    for (const sentence of Object.values(reasonSentences)) expect(sentence).toMatch(/^[A-Z|].*\.$/);
  });
});
