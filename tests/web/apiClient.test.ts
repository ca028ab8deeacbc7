import { describe, expect, it } from 'vitest';
import { ApiClient } from '../../web/src/api/ApiClient.ts';
import {
  AccessError,
  ConflictError,
  NotFoundError,
  RefusedError,
  RequestError,
  TooManyError,
  UnreachableError,
} from '../../web/src/api/problems.ts';

function answering(status: number, body: unknown, seen: Request[] = []): ApiClient {
  const fetcher = async (input: RequestInfo | URL, init?: RequestInit): Promise<Response> => {
    seen.push(new Request(new URL(String(input), 'http://127.0.0.1'), init));
    return new Response(status === 204 ? null : typeof body === 'string' ? body : JSON.stringify(body), {
      status,
    });
  };
  return new ApiClient('/api/v1', fetcher);
}

const problem = {
  type: 'urn:gemel:problem:invalid-request',
  title: 'Not right',
  status: 400,
  detail: 'The body cannot be used.',
  code: 'invalid-request',
  errors: [{ field: 'name', row: null, value: '', reason: 'is empty', expected: 'a name' }],
};

describe('the client of the interface', () => {
  it('leaves empty values out of the address and joins lists with commas', () => {
    const api = answering(200, {});
    expect(
      api.address('/lots/{id}/cells', {
        params: { id: 7 },
        query: { limit: 5, search: '', columns: ['a', 'b/c'], state: undefined },
      }),
    ).toBe('/api/v1/lots/7/cells?limit=5&columns=a%2Cb%2Fc');
  });

  it('sends the version that was read and the key of the action', async () => {
    const seen: Request[] = [];
    await answering(200, {}, seen).patch('/lots/{id}', {
      params: { id: 1 },
      body: { name: 'x' },
      version: 3,
      idempotencyKey: 'k',
    });
    expect(new URL(seen[0].url).pathname).toBe('/api/v1/lots/1');
    expect(seen[0].headers.get('if-match')).toBe('"3"');
    expect(seen[0].headers.get('idempotency-key')).toBe('k');
    expect(seen[0].headers.get('content-type')).toBe('application/json');
    expect(await seen[0].json()).toEqual({ name: 'x' });
  });

  it('gives null for an answer without a body', async () => {
    expect(await answering(204, null).delete('/lots/{id}', { params: { id: 1 }, version: 1 })).toBeNull();
  });

  it.each([
    [400, RefusedError],
    [401, AccessError],
    [404, NotFoundError],
    [409, ConflictError],
    [412, ConflictError],
    [429, TooManyError],
    [500, RequestError],
  ])('turns the status %i into its kind of error, with the problem details', async (status, kind) => {
    const failed = answering(status, { ...problem, status }).get('/lots');
    await expect(failed).rejects.toBeInstanceOf(kind);
    await expect(failed).rejects.toMatchObject({ status, message: 'The body cannot be used.' });
  });

  it('names what is wrong with a field and what would be right', async () => {
    const error = await answering(400, problem)
      .get('/lots')
      .catch((e: unknown) => e);
    expect(error).toBeInstanceOf(RefusedError);
    expect((error as RefusedError).reasonFor('name')).toBe('is empty; expected: a name');
    expect((error as RefusedError).reasonFor('other')).toBeUndefined();
  });

  it('explains an answer that is no problem document, and no answer at all', async () => {
    await expect(answering(502, '<html>').get('/lots')).rejects.toMatchObject({ status: 502 });
    const gone = new ApiClient('/api/v1', () => Promise.reject(new TypeError('fetch failed')));
    await expect(gone.get('/lots')).rejects.toBeInstanceOf(UnreachableError);
  });
});
