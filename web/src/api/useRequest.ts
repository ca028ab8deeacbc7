import { QueryClient, type QueryKey, type UseQueryResult, useQuery } from '@tanstack/react-query';
import { api, concretePath } from './ApiClient.ts';
import type { Answer, AnyGiven, At, Given, PathOf } from './endpointTypes.ts';
import { RequestError } from './problems.ts';

/** What a page knows about a request: `data` stays while newer data is fetched. */
export interface Requested<T> {
  /** The answer, or undefined until there is one. */
  readonly data: T | undefined;
  readonly error: RequestError | null;
  /** True while there is nothing to show yet. */
  readonly loading: boolean;
  /** True while anything is fetched, also in the background. */
  readonly fetching: boolean;
  readonly again: () => void;
}

export interface AskOptions {
  /** Asks only while true. */
  readonly when?: boolean;
  /** Asks again after so many milliseconds; 0 never. */
  readonly everyMs?: number;
}

/** While the server does not answer, what is in view is asked again by itself. */
const askAgainMs = 3_000;

function isLost(error: Error | null): boolean {
  return error instanceof RequestError && error.status === 0;
}

type Asked<E> =
  object extends Given<E>
    ? [given?: Given<E>, options?: AskOptions]
    : [given: Given<E>, options?: AskOptions];

/**
 * Asks for one resource and keeps it fresh. `path` null: nothing is asked. The key is the path with its query, so that
 * every part of a page that asks the same shares one request.
 */
export function useRequest<P extends PathOf<'GET'>>(
  path: P | null,
  ...asked: Asked<At<'GET', P>>
): Requested<Answer<At<'GET', P>>>;
export function useRequest(
  path: string | null,
  given: AnyGiven = {},
  options: AskOptions = {},
): Requested<unknown> {
  const { params, query = {} } = given;
  const asked = path === null ? null : concretePath(path, params);
  return requestedOf(
    useQuery<unknown, RequestError>({
      queryKey: [asked, query],
      queryFn: ({ signal }) => api.request('GET', asked ?? '', { query, signal }),
      enabled: asked !== null && options.when !== false,
      // Other columns or another window of the same thing: the old answer stays in view until the new one is there.
      placeholderData: kept(asked),
      refetchInterval: (query) => (isLost(query.state.error) ? askAgainMs : options.everyMs || false),
    }),
  );
}

/**
 * Asks a question that is too long for an address, so it is sent as a body; nothing is changed by it. `body` null:
 * nothing is asked.
 */
export function useQuestion<P extends PathOf<'POST'>>(
  path: P,
  body: Given<At<'POST', P>>['body'] | null,
): Requested<Answer<At<'POST', P>>>;
export function useQuestion(path: string, body: unknown): Requested<unknown> {
  return requestedOf(
    useQuery<unknown, RequestError>({
      queryKey: [path, body],
      queryFn: ({ signal }) => api.request('POST', path, { body, signal }),
      enabled: body !== null,
      placeholderData: kept(path),
      refetchInterval: (query) => (isLost(query.state.error) ? askAgainMs : false),
    }),
  );
}

const kept = (path: string | null) => (previous: unknown, earlier?: { readonly queryKey: QueryKey }) =>
  earlier?.queryKey[0] === path ? previous : undefined;

function requestedOf(result: UseQueryResult<unknown, RequestError>): Requested<unknown> {
  return {
    data: result.data,
    error: result.error,
    loading: result.isPending && result.fetchStatus !== 'idle',
    fetching: result.isFetching,
    again: () => void result.refetch(),
  };
}

/** Settings of all requests: answers of the server that cannot change by repeating are not repeated. */
export function newQueryClient(): QueryClient {
  return new QueryClient({
    defaultOptions: {
      queries: {
        staleTime: 5_000,
        refetchOnWindowFocus: true,
        // The pages come from this machine: a browser without a network can still reach their server.
        networkMode: 'always',
        retry: (count, error) => isLost(error) && count < 2,
      },
      mutations: { retry: false, networkMode: 'always' },
    },
  });
}

/** A path with everything below it, or only itself. */
export type Changed = string | { readonly only: string };

/** Forgets every answer at `changed`; what is on screen is asked again. */
export function forget(client: QueryClient, ...changed: readonly Changed[]): Promise<void> {
  return client.invalidateQueries({
    predicate: ({ queryKey: [path] }) =>
      typeof path === 'string' &&
      (path === '/overview' ||
        changed.some((c) => (typeof c === 'string' ? path.startsWith(c) : path === c.only))),
  });
}
