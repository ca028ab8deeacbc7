import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { Validator } from '@seriousme/openapi-schema-validator';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { endpoints } from '../../server/contract/endpoints.ts';
import { contractModules } from '../../server/openapi/components.ts';
import type { openApiDocument } from '../../server/openapi/document.ts';
import { projectRoot } from '../../server/projectRoot.ts';
import { allRoutes } from '../../server/routes/all.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

describe('the OpenAPI document', () => {
  let test: TestApp;
  let document: ReturnType<typeof openApiDocument>;
  beforeAll(async () => {
    test = await openTestApp();
    document = (await request(test.app).get('/api/v1/openapi.json')).body;
  });
  afterAll(async () => test.close());

  it('is valid OpenAPI 3.1 as judged by a general validator', async () => {
    const validator = new Validator();
    expect(await validator.validate(structuredClone(document) as never)).toEqual({ valid: true });
    expect(validator.version).toBe('3.1');
  });

  it('describes every route of the service and no other', () => {
    const described = Object.entries(document.paths ?? {}).flatMap(([path, item]) =>
      Object.keys(item ?? {}).map((method) => `${method} ${path}`),
    );
    expect(described.sort()).toEqual(allRoutes.map((route) => `${route.method} ${route.path}`).sort());
  });

  it('has every endpoint of the contract served by one route, and serves no other', () => {
    const served = allRoutes.map((route) => `${route.method.toUpperCase()} ${route.path}`);
    expect(served.sort()).toEqual(Object.keys(endpoints).sort());
  });

  it('gives each operation a name of its own and each path parameter a description of its type', () => {
    const operations = Object.entries(document.paths ?? {}).flatMap(([path, item]) =>
      Object.values(item ?? {}).map((operation) => ({ path, operation })),
    );
    const names = operations.map(({ operation }) => operation.operationId);
    expect(new Set(names).size).toBe(names.length);
    for (const { path, operation } of operations) {
      const inPath = (operation.parameters ?? []).filter((p: { in?: string }) => p.in === 'path');
      expect(inPath.map((p: { name: string }) => p.name).sort(), path).toEqual(
        [...path.matchAll(/\{(\w+)\}/g)].map((match) => match[1]).sort(),
      );
    }
  });

  it('has every module of the contract among its schemas', () => {
    const files = readdirSync(join(projectRoot, 'server/contract'))
      .map((file) => file.replace(/\.ts$/, ''))
      .filter((file) => !file.startsWith('endpoint'));
    expect(Object.keys(contractModules).sort()).toEqual(files.sort());
  });

  it('refers to no schema that it does not hold and holds none that nothing refers to', () => {
    const text = JSON.stringify(document);
    const referred = new Set(
      [...text.matchAll(/"#\/components\/schemas\/([^"]+)"/g)].map((match) => match[1]),
    );
    expect([...referred].sort()).toEqual(Object.keys(document.components?.schemas ?? {}).sort());
  });

  it('demands If-Match where a version is changed and offers Idempotency-Key where something is made', () => {
    const headers = (path: string, method: 'post' | 'patch') =>
      (document.paths?.[path]?.[method]?.parameters ?? []) as {
        name: string;
        in: string;
        required?: boolean;
      }[];
    expect(headers('/lots/{id}', 'patch')).toContainEqual(
      expect.objectContaining({ name: 'If-Match', in: 'header', required: true }),
    );
    const key = headers('/lots', 'post').find((p) => p.name === 'Idempotency-Key');
    expect(key?.in).toBe('header');
    expect(key?.required ?? false).toBe(false);
  });

  it('lets answers have fields that an older client does not know', () => {
    expect(JSON.stringify(document.components?.schemas?.Lot)).not.toContain('"additionalProperties":false');
  });

  it('can be read as a page without scripts and without anything from elsewhere', async () => {
    const page = await request(test.app).get('/api/docs');
    expect(page.status).toBe(200);
    expect(page.headers['content-type']).toContain('text/html');
    expect(page.text).not.toMatch(/<script|src=|https?:\/\/(?!www\.w3)/i);
    for (const route of allRoutes) expect(page.text).toContain(`<code>/api/v1${route.path}</code>`);
  });

  it('publishes the schema of the parameter set, and 400 for a version that there is not', async () => {
    const schema = await request(test.app).get('/api/v1/schemas/parameter-set/1').buffer(true);
    expect(schema.headers['content-type']).toContain('application/schema+json');
    expect(JSON.parse(schema.text).$schema).toBe('https://json-schema.org/draft/2020-12/schema');
    expect((await request(test.app).get('/api/v1/schemas/parameter-set/2')).status).toBe(400);
  });
});
