/** What the server says where it gave a transaction up in favour of another one. */
const givenUpCodes: ReadonlySet<unknown> = new Set(['40001', '40P01']);

/** What the server says where a row of the same key is there. */
export const uniqueViolation = '23505';

export function codeOf(error: unknown): unknown {
  return typeof error === 'object' && error !== null && 'code' in error ? error.code : undefined;
}

/** Whether the server gave a transaction up in favour of another one, so that it may run again. */
export function isGivenUp(error: unknown): boolean {
  return givenUpCodes.has(codeOf(error));
}

/** Whether the connection is gone, so that what was sent over it was undone unless it was a commit. */
export function isDisconnection(error: unknown): boolean {
  const code = codeOf(error);
  if (typeof code === 'string' && (/^(08|57P)/.test(code) || /^(ECONNRESET|EPIPE)$/.test(code))) return true;
  return (
    error instanceof Error &&
    /Connection terminated|connection (was|is) closed|is not queryable/i.test(error.message)
  );
}

/** Whether a statement was not sent, because its connection had ended before. */
export function isUnsent(error: unknown): boolean {
  return error instanceof Error && /is not queryable/i.test(error.message);
}
