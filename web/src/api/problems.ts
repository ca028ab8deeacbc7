import type { Problem } from '../../../server/contract/common.ts';
import { say } from '../words/i18n.ts';
import { fieldReason } from '../words/problems.ts';

/** What went wrong with a request, as the page can show it: the server's problem details (RFC 9457) or their lack. */
export class RequestError extends Error {
  override readonly name: string = 'RequestError';
  readonly status: number;
  readonly problem: Problem;

  constructor(problem: Problem) {
    super(problem.detail === '' ? problem.title : problem.detail);
    this.status = problem.status;
    this.problem = problem;
  }

  /** What is wrong with one field, if the server named it. */
  reasonFor(field: string): string | undefined {
    const entry = this.problem.errors?.find((e) => e.field === field || e.field?.startsWith(`${field}.`));
    return entry === undefined ? undefined : fieldReason(entry.reason, entry.expected);
  }
}

/** The thing is not there (any more). */
export class NotFoundError extends RequestError {
  override readonly name = 'NotFoundError';
}

/** Somebody changed the thing in the meantime, or it stands in the way of what was asked. */
export class ConflictError extends RequestError {
  override readonly name = 'ConflictError';
}

/** Fields or rows of what was sent are wrong; the problem names them. */
export class RefusedError extends RequestError {
  override readonly name = 'RefusedError';
}

/** No token, or one that may not do this. */
export class AccessError extends RequestError {
  override readonly name = 'AccessError';
}

/** Too many requests in a short time. */
export class TooManyError extends RequestError {
  override readonly name = 'TooManyError';
}

/** No answer at all: the server has stopped or the connection is gone. */
export class UnreachableError extends RequestError {
  override readonly name = 'UnreachableError';

  constructor() {
    super({
      type: 'about:blank',
      title: say('general.noAnswerFromTheServer'),
      status: 0,
      detail: say('general.theServerDoesNotAnswerStart'),
      code: 'unreachable',
    });
  }
}

/** The error of an answer, by its status. */
export function errorOf(problem: Problem): RequestError {
  switch (problem.status) {
    case 400:
    case 413:
    case 415:
    case 422:
      return new RefusedError(problem);
    case 401:
    case 403:
      return new AccessError(problem);
    case 404:
      return new NotFoundError(problem);
    case 409:
    case 412:
    case 428:
      return new ConflictError(problem);
    case 429:
      return new TooManyError(problem);
    default:
      return new RequestError(problem);
  }
}

/** Problem details out of a body that may be anything, for instance a proxy's page. */
export function problemFrom(status: number, body: unknown): Problem {
  if (typeof body === 'object' && body !== null && 'title' in body && 'code' in body) {
    return { ...(body as Problem), status };
  }
  return {
    type: 'about:blank',
    title: say('general.theServerRefused'),
    status,
    detail: say('general.theServerAnsweredWithStatusStatus', { status }),
    code: 'unexplained',
  };
}
