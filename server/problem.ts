import type { NextFunction, Request, Response } from 'express';
import type { Logger } from 'pino';
import type { Problem } from './contract/common.ts';
import { type ErrorCode, fieldError, Refusal, storageRefusal } from './errors.ts';
import { RefusedFile } from './import/refusedFile.ts';

const titles = {
  'invalid-request': 'The request cannot be used',
  'sign-in-needed': 'A token is needed',
  'not-allowed': 'Not allowed',
  'not-found': 'Not found',
  'method-not-allowed': 'Method not possible',
  conflict: 'Conflict with what is stored',
  'in-use': 'Still in use',
  'duplicate-file': 'The same file was imported before',
  'version-changed': 'Changed by someone else meanwhile',
  'too-large': 'Too large',
  'unsupported-media-type': 'Unsupported media type',
  'host-not-served': 'This host or origin is not served',
  'file-refused': 'The file was refused',
  'not-evaluable': 'Cannot be evaluated',
  'cannot-pair': 'Cannot be paired',
  'cannot-study': 'The charge study cannot be computed',
  'cannot-export': 'Cannot be exported',
  'if-match-needed': 'The version is needed',
  'too-many-requests': 'Too many requests',
  cancelled: 'Cancelled',
  internal: 'Internal fault',
  'storage-read-only': 'The database cannot be written',
  'storage-busy': 'The database is busy',
  'storage-unreachable': 'The database cannot be reached',
  'storage-damaged': 'The database is damaged',
  'newer-database': 'The database was written by a newer version',
  'storage-full': 'The disk is full',
} as const satisfies Record<ErrorCode, string>;

/** Type of the error that a request body that is not UTF-8 gives. */
export const notUtf8 = 'body.not-utf8';

/** The problem document of a refusal. */
export function problemOf(refusal: Refusal, instance?: string): Problem {
  return {
    type: `urn:gemel:problem:${refusal.code}`,
    title: titles[refusal.code],
    status: refusal.status,
    detail: refusal.message,
    ...(instance === undefined ? {} : { instance }),
    code: refusal.code,
    ...(refusal.places.length > 0 ? { errors: refusal.places.map((place) => ({ ...place })) } : {}),
  };
}

/** What was thrown, as a refusal that may be shown; faults of the program become `internal` without details. */
export function toRefusal(error: unknown): Refusal {
  if (error instanceof Refusal) return error;
  if (error instanceof RefusedFile) {
    const { row, column, value, reason, expected } = error.refusal;
    return new Refusal('file-refused', error.message, [{ field: column, row, value, reason, expected }]);
  }
  const storage = storageRefusal(error);
  if (storage) return storage;
  if ((error as { code?: unknown } | null)?.code === '22021')
    return new Refusal('invalid-request', 'A text contains the character U+0000, which cannot be stored.');
  const type = error instanceof Error && 'type' in error ? String(error.type) : '';
  if (type === 'entity.too.large') {
    const { length, limit } = error as { length?: number; limit?: number };
    return new Refusal('too-large', 'The body of the request is larger than this service takes.', [
      fieldError('body', length, 'is too large', limit === undefined ? 'less' : `at most ${limit} bytes`),
    ]);
  }
  if (type === 'entity.parse.failed') {
    const reason = error instanceof Error ? error.message : 'it cannot be parsed';
    return new Refusal('invalid-request', `The body of the request is not valid JSON: ${reason}.`, [
      fieldError('body', undefined, reason, 'a JSON document'),
    ]);
  }
  if (type === notUtf8)
    return new Refusal('invalid-request', 'The body of the request is not valid UTF-8.', [
      fieldError('body', undefined, 'holds bytes that are not UTF-8', 'JSON in UTF-8'),
    ]);
  if (error instanceof Error && 'code' in error && /^(Z_|ERR__ERROR_FORMAT)/.test(String(error.code)))
    return new Refusal('invalid-request', 'The body of the request is not compressed as it says.', [
      fieldError('Content-Encoding', undefined, error.message, 'a whole body in the encoding that is named'),
    ]);
  if (type.startsWith('encoding') || type.startsWith('charset')) {
    return new Refusal(
      'unsupported-media-type',
      'The encoding of the request is not one that this service reads.',
    );
  }
  if (error instanceof URIError)
    return new Refusal('invalid-request', 'The address of the request is not valid.');
  return new Refusal(
    'internal',
    'Something went wrong in the service; nothing was changed. The log tells more.',
  );
}

/** Writes a fault of the program into the log, with the request that met it. */
export function reportFault(log: Logger, error: unknown, request: Request): void {
  log.error({ err: error, method: request.method, url: request.originalUrl }, 'fault');
}

/** The one place where what was thrown becomes an answer. */
export function problemHandler(log: Logger) {
  return (error: unknown, request: Request, response: Response, next: NextFunction): void => {
    if (response.headersSent) {
      next(error);
      return;
    }
    const refusal = toRefusal(error);
    if (refusal.code === 'internal') reportFault(log, error, request);
    response
      .status(refusal.status)
      .type('application/problem+json')
      .send(JSON.stringify(problemOf(refusal, request.originalUrl)));
  };
}
