/** The stable codes of refusals. Programs may rely on them; the words beside them are for people. */
const statusOf = {
  'invalid-request': 400,
  'sign-in-needed': 401,
  'not-allowed': 403,
  'not-found': 404,
  'method-not-allowed': 405,
  conflict: 409,
  'in-use': 409,
  'duplicate-file': 409,
  'version-changed': 412,
  'too-large': 413,
  'unsupported-media-type': 415,
  'host-not-served': 421,
  'file-refused': 422,
  'not-evaluable': 422,
  'cannot-pair': 422,
  'cannot-study': 422,
  'cannot-export': 422,
  'if-match-needed': 428,
  'too-many-requests': 429,
  cancelled: 409,
  internal: 500,
  'storage-read-only': 503,
  'storage-busy': 503,
  'storage-unreachable': 503,
  'newer-database': 503,
  'storage-damaged': 503,
  'storage-full': 507,
} as const satisfies Record<string, number>;

export type ErrorCode = keyof typeof statusOf;

/** One field, row or value that is wrong, and what would be right. */
export interface ErrorPlace {
  readonly field: string | null;
  readonly row: number | null;
  readonly value: string | null;
  readonly reason: string;
  readonly expected: string | null;
}

/** A refusal that is meant for the one who asked. Anything else that is thrown is a fault of the program. */
export class Refusal extends Error {
  readonly code: ErrorCode;
  readonly places: readonly ErrorPlace[];

  constructor(code: ErrorCode, detail: string, places: readonly ErrorPlace[] = []) {
    super(detail);
    this.name = 'Refusal';
    this.code = code;
    this.places = places;
  }

  /** HTTP status that goes with the code. */
  get status(): number {
    return statusOf[this.code];
  }
}

/** A place in a request's fields. */
export function fieldError(field: string, value: unknown, reason: string, expected: string): ErrorPlace {
  return {
    field,
    row: null,
    value: value === undefined || value === null ? null : String(value).slice(0, 120),
    reason,
    expected,
  };
}

/** The refusal for a thing that is not there. @param field where the request named it */
export function notFound(what: string, id: number | string, field = 'id'): Refusal {
  return new Refusal('not-found', `There is no ${what} ${id}.`, [
    fieldError(field, id, `no ${what} has this number`, `the number of an existing ${what}`),
  ]);
}

/** Turns what the database threw into a refusal where the disk or the file is the cause, else null. */
export function storageRefusal(error: unknown): Refusal | null {
  const text =
    error instanceof Error ? `${(error as { code?: unknown }).code ?? ''} ${error.message}` : String(error);
  if (/^(EMFILE|ENFILE) /.test(text)) {
    return new Refusal(
      'storage-busy',
      'Too many files and connections are open; nothing was stored. Close some, or let the service open more (ulimit -n), and try again.',
    );
  }
  if (/SQLITE_FULL|disk is full|ENOSPC|^53100 /i.test(text)) {
    return new Refusal('storage-full', 'The disk is full; nothing was stored. Make room and try again.');
  }
  if (/SQLITE_READONLY|readonly database|EROFS|^(25006|42501) /i.test(text)) {
    return new Refusal(
      'storage-read-only',
      'The database may not be written; nothing was stored. Check its rights.',
    );
  }
  if (/SQLITE_CANTOPEN|unable to open database/i.test(text)) {
    return new Refusal(
      'storage-read-only',
      'The database file cannot be opened; nothing was stored. Check its folder and rights.',
    );
  }
  if (/SQLITE_(NOTADB|CORRUPT)|^XX00[12] |not a database|disk image is malformed/i.test(text)) {
    return new Refusal(
      'storage-damaged',
      'The database file is damaged or no database; nothing was stored. Put a backup in its place: gemel restore FILE.',
    );
  }
  if (/SQLITE_BUSY|database is locked|^(40001|40P01|55P03|53300) /i.test(text)) {
    return new Refusal(
      'storage-busy',
      'The database is busy with another writer; nothing was stored. Try again.',
    );
  }
  if (/^(ERR_TLS|ERR_SSL|CERT_|SELF_SIGNED|DEPTH_ZERO|UNABLE_TO_)|does not support SSL/.test(text)) {
    return new Refusal(
      'storage-unreachable',
      `The connection to the database server cannot be protected as asked for: ${(error as Error).message}. Check sslmode and sslrootcert of GEMEL_DATABASE, or PGSSLMODE and PGSSLROOTCERT.`,
    );
  }
  if (
    /^(08...|57P0.|28...|3D000|ECONNREFUSED|ECONNRESET|ENOTFOUND|EAI_AGAIN|ETIMEDOUT|EHOSTUNREACH|EPIPE) /.test(
      text,
    ) ||
    /Connection terminated|is not queryable|timeout exceeded when trying to connect/i.test(text)
  ) {
    const reason = error instanceof Error && error.message !== '' ? error.message : text.trim();
    return new Refusal(
      'storage-unreachable',
      `The database server cannot be reached or refuses the connection: ${reason}. A change that was being stored may or may not be there: look before you repeat it. Check the server and GEMEL_DATABASE.`,
    );
  }
  return null;
}
