import request, { type Response } from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { allRoutes } from '../../server/routes/all.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { type ApiCall, apiCalls } from './openapiCalls.ts';
import { OpenApiChecker } from './openapiChecker.ts';

type Method = 'get' | 'post' | 'patch' | 'put' | 'delete';

async function send(test: TestApp, call: ApiCall): Promise<Response> {
  const [method, declared] = call.route.split(' ') as [Method, string];
  const path = declared.replace(/\{(\w+)\}/g, (_, name: string) =>
    encodeURIComponent(call.path?.[name] ?? ''),
  );
  let pending = request(test.app)
    [method](`/api/v1${path}`)
    .query(call.query ?? {})
    .set(call.headers ?? {});
  if (call.raw) pending = pending.set('Content-Type', call.raw.type).send(call.raw.bytes);
  else if (call.body !== undefined) pending = pending.send(call.body as object);
  return await pending;
}

describe('every route keeps to its description', () => {
  let test: TestApp;
  let calls: readonly ApiCall[];
  const checker = new OpenApiChecker(allRoutes);
  const parts = (call: ApiCall) => call.route.split(' ') as [Method, string];
  beforeAll(async () => {
    test = await openTestApp();
    calls = await apiCalls(test.context);
  });
  afterAll(async () => test.close());

  it('and is called here at least once', () => {
    expect([...new Set(calls.map((call) => call.route))].sort()).toEqual(
      allRoutes.map((route) => `${route.method} ${route.path}`).sort(),
    );
  });

  it('when it answers what was asked', async () => {
    const deviations: Record<string, unknown> = {};
    for (const call of calls) {
      const [method, path] = parts(call);
      const answer = await send(test, call);
      const found = [
        ...(answer.status === (call.status ?? 200)
          ? []
          : [`status ${answer.status}: ${JSON.stringify(answer.body)}`]),
        ...checker.checkBody(method, path, call.body),
        ...checker.checkAnswer(method, path, answer),
      ];
      if (found.length > 0) deviations[call.route] = found;
    }
    expect(deviations).toEqual({});
  });

  it('when the thing is not there', async () => {
    const deviations: Record<string, unknown> = {};
    for (const call of calls.filter((candidate) => candidate.path?.id !== undefined)) {
      const [method, path] = parts(call);
      const answer = await send(test, { ...call, path: { ...call.path, id: 999_999 } });
      const found = [
        ...(answer.status === 404 ? [] : [`status ${answer.status}: ${JSON.stringify(answer.body)}`]),
        ...checker.checkAnswer(method, path, answer),
      ];
      if (found.length > 0) deviations[call.route] = found;
    }
    expect(deviations).toEqual({});
  });

  it('when the identifier is no number, the version is missing or the body is not what it should be', async () => {
    const deviations: Record<string, unknown> = {};
    for (const call of calls) {
      const [method, path] = parts(call);
      const wrong: [number, ApiCall][] = [];
      // A picture's body is looked at before its path.
      if (call.path?.id !== undefined && !call.raw)
        wrong.push([400, { ...call, path: { ...call.path, id: 'x y' } }]);
      if (call.headers?.['If-Match'] !== undefined) wrong.push([428, { ...call, headers: {} }]);
      if (call.headers?.['If-Match'] !== undefined)
        wrong.push([412, { ...call, headers: { 'If-Match': '"77"' }, path: call.path }]);
      if (call.body !== undefined) wrong.push([400, { ...call, body: [1, 2] }]);
      for (const [status, sent] of wrong) {
        // A thing that an earlier call removed cannot have another version.
        if (status === 412 && method === 'delete') continue;
        const answer = await send(test, sent);
        const found = [
          ...(answer.status === status
            ? []
            : [`status ${answer.status}, not ${status}: ${JSON.stringify(answer.body)}`]),
          ...checker.checkAnswer(method, path, answer),
        ];
        if (found.length > 0) deviations[`${call.route} ${status}`] = found;
      }
    }
    expect(deviations).toEqual({});
  });

  it('and the check notices an answer with a field too many, one too few and a status that is not described', async () => {
    const answer = await send(test, { route: 'get /overview' });
    const lacking = { ...answer, headers: answer.headers, status: 200, body: { ...answer.body, counts: {} } };
    const added = { ...lacking, body: { ...answer.body, extra: 1 } };
    expect(checker.checkAnswer('get', '/overview', lacking as Response).join()).toContain(
      'must have required property',
    );
    expect(checker.checkAnswer('get', '/overview', added as Response).join()).toContain(
      'additional properties',
    );
    expect(checker.checkAnswer('get', '/overview', { ...added, status: 418 } as Response)).toEqual([
      'status 418 is not described',
    ]);
  });
});
