import type { Method } from '../../../server/contract/endpoint.ts';
import type { Answer, AnyGiven, At, GivenTo, PathOf } from './endpointTypes.ts';
import { errorOf, problemFrom, UnreachableError } from './problems.ts';

/** The one place from which the pages ask the server. Requests and answers are typed by the contract's table of endpoints. */
export class ApiClient {
  readonly #root: string;
  readonly #fetch: typeof fetch;

  constructor(root = '/api/v1', fetcher: typeof fetch = (...args) => fetch(...args)) {
    this.#root = root;
    this.#fetch = fetcher;
  }

  /** The address of something to read, for links, pictures and event streams. */
  address<P extends PathOf<'GET'>>(path: P, ...given: GivenTo<At<'GET', P>>): string;
  address(path: string, given: AnyGiven = {}): string {
    return this.#address(path, given);
  }

  get<P extends PathOf<'GET'>>(path: P, ...given: GivenTo<At<'GET', P>>): Promise<Answer<At<'GET', P>>>;
  get(path: string, given: AnyGiven = {}) {
    return this.request('GET', path, given);
  }

  post<P extends PathOf<'POST'>>(path: P, ...given: GivenTo<At<'POST', P>>): Promise<Answer<At<'POST', P>>>;
  post(path: string, given: AnyGiven = {}) {
    return this.request('POST', path, given);
  }

  patch<P extends PathOf<'PATCH'>>(
    path: P,
    ...given: GivenTo<At<'PATCH', P>>
  ): Promise<Answer<At<'PATCH', P>>>;
  patch(path: string, given: AnyGiven = {}) {
    return this.request('PATCH', path, given);
  }

  delete<P extends PathOf<'DELETE'>>(
    path: P,
    ...given: GivenTo<At<'DELETE', P>>
  ): Promise<Answer<At<'DELETE', P>>>;
  delete(path: string, given: AnyGiven = {}) {
    return this.request('DELETE', path, given);
  }

  #address(path: string, given: AnyGiven): string {
    const search = new URLSearchParams();
    for (const [name, value] of Object.entries(given.query ?? {})) {
      if (value === null || value === undefined || value === '') continue;
      search.set(name, Array.isArray(value) ? value.join(',') : String(value));
    }
    const text = search.toString();
    return `${this.#root}${concretePath(path, given.params)}${text === '' ? '' : `?${text}`}`;
  }

  /**
   * Asks the server and gives the JSON of its answer, or null where the answer has no body. The methods above give it its
   * types; it is called directly only where the endpoint is not known until then.
   */
  async request(method: Method, path: string, given: AnyGiven) {
    const response = await this.#answer(method, path, given);
    const body = await readBody(response);
    if (!response.ok) throw errorOf(problemFrom(response.status, body));
    return body;
  }

  async #answer(method: Method, path: string, given: AnyGiven): Promise<Response> {
    const headers: Record<string, string> = { accept: 'application/json', ...given.headers };
    if (given.body !== undefined) headers['content-type'] = 'application/json';
    if (given.raw !== undefined) headers['content-type'] = given.rawType ?? 'application/octet-stream';
    if (given.version !== undefined) headers['if-match'] = `"${given.version}"`;
    if (given.idempotencyKey !== undefined) headers['idempotency-key'] = given.idempotencyKey;
    const body = given.raw ?? (given.body === undefined ? undefined : JSON.stringify(given.body));
    try {
      return await this.#fetch(this.#address(path, given), {
        method,
        headers,
        ...(body === undefined ? {} : { body }),
        ...(given.signal === undefined ? {} : { signal: given.signal }),
      });
    } catch (error) {
      if (error instanceof DOMException && error.name === 'AbortError') throw error;
      throw new UnreachableError();
    }
  }
}

/** A path with its parameters filled in. */
export function concretePath(path: string, params: Readonly<Record<string, string | number>> = {}): string {
  return path.replace(/\{(\w+)\}/g, (_whole, name: string) => encodeURIComponent(params[name] ?? ''));
}

/** The body as JSON where it is JSON; its type is what the contract says, to which the server's tests hold every answer. */
async function readBody(response: Response) {
  if (response.status === 204) return null;
  const text = await response.text();
  if (text === '') return null;
  try {
    return JSON.parse(text);
  } catch {
    return text;
  }
}

/** A key for one intended action, so that a repeated click or a lost answer does it once. */
export function newIdempotencyKey(): string {
  return crypto.randomUUID();
}

export const api = new ApiClient();
