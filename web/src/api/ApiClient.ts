import { errorOf, problemFrom, UnreachableError } from './problems.ts';

export type QueryValue = string | number | boolean | readonly (string | number)[] | null | undefined;

export interface RequestOptions {
  readonly query?: Readonly<Record<string, QueryValue>>;
  /** Sent as JSON. */
  readonly body?: unknown;
  /** Sent as it is (files). */
  readonly raw?: Blob;
  readonly rawType?: string;
  /** Version of the thing that is changed: the server refuses when somebody changed it in the meantime. */
  readonly version?: number;
  /** Makes a repeated request do its work once. */
  readonly idempotencyKey?: string;
  readonly signal?: AbortSignal;
  readonly headers?: Readonly<Record<string, string>>;
}

export type Method = 'GET' | 'POST' | 'PATCH' | 'PUT' | 'DELETE';

/** The one place from which the pages ask the server. Answers are typed by the contract; failures are typed errors. */
export class ApiClient {
  readonly #root: string;
  readonly #fetch: typeof fetch;

  constructor(root = '/api/v1', fetcher: typeof fetch = (...args) => fetch(...args)) {
    this.#root = root;
    this.#fetch = fetcher;
  }

  /** The address of a path with its query, for links and event streams. */
  address(path: string, query: RequestOptions['query'] = {}): string {
    const search = new URLSearchParams();
    for (const [name, value] of Object.entries(query)) {
      if (value === null || value === undefined || value === '') continue;
      search.set(name, Array.isArray(value) ? value.join(',') : String(value));
    }
    const text = search.toString();
    return `${this.#root}${path}${text === '' ? '' : `?${text}`}`;
  }

  /** Asks the server and gives the JSON of its answer, or null where the answer has no body. */
  async request<T>(method: Method, path: string, options: RequestOptions = {}): Promise<T> {
    const response = await this.#answer(method, path, options);
    const body: unknown = await readBody(response);
    if (!response.ok) throw errorOf(problemFrom(response.status, body));
    return body as T;
  }

  get<T>(path: string, options?: RequestOptions): Promise<T> {
    return this.request<T>('GET', path, options);
  }

  async #answer(method: Method, path: string, options: RequestOptions): Promise<Response> {
    const headers: Record<string, string> = { accept: 'application/json', ...options.headers };
    if (options.body !== undefined) headers['content-type'] = 'application/json';
    if (options.raw !== undefined) headers['content-type'] = options.rawType ?? 'application/octet-stream';
    if (options.version !== undefined) headers['if-match'] = `"${options.version}"`;
    if (options.idempotencyKey !== undefined) headers['idempotency-key'] = options.idempotencyKey;
    const body = options.raw ?? (options.body === undefined ? undefined : JSON.stringify(options.body));
    try {
      return await this.#fetch(this.address(path, options.query), {
        method,
        headers,
        ...(body === undefined ? {} : { body }),
        ...(options.signal === undefined ? {} : { signal: options.signal }),
      });
    } catch (error) {
      if (error instanceof DOMException && error.name === 'AbortError') throw error;
      throw new UnreachableError();
    }
  }
}

async function readBody(response: Response): Promise<unknown> {
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
