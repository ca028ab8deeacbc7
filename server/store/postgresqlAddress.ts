import { readFileSync } from 'node:fs';
import { isIP } from 'node:net';
import type { ConnectionOptions } from 'node:tls';
import { fieldError, Refusal } from '../errors.ts';

// What a database address leaves out is read from the PG* variables, with the meaning that PostgreSQL's documentation
// gives them (libpq: "Environment Variables" and "SSL Support"). Those that cannot be honoured are refused by name: one
// that was passed over in silence would connect elsewhere, or without the protection that was asked for.

/** How the server is reached; what is left out here (user, password, database) `pg` finds as usual. */
export interface ServerConnection {
  readonly host?: string;
  readonly port?: number;
  readonly user?: string;
  readonly password?: string;
  readonly database?: string;
  readonly options?: string;
  readonly ssl: false | ConnectionOptions;
  readonly connectionTimeoutMillis: number;
}

type Variables = Readonly<Record<string, string | undefined>>;

const connectTimeoutMs = 10_000;

/** Settings that the address may hold as `?name=value`, and the variable that each is read from otherwise. */
const settings = {
  host: 'PGHOST',
  port: 'PGPORT',
  user: 'PGUSER',
  password: 'PGPASSWORD',
  dbname: 'PGDATABASE',
  options: 'PGOPTIONS',
  connect_timeout: 'PGCONNECT_TIMEOUT',
  sslmode: 'PGSSLMODE',
  sslrootcert: 'PGSSLROOTCERT',
  sslcert: 'PGSSLCERT',
  sslkey: 'PGSSLKEY',
} as const;
type Setting = keyof typeof settings;

/** Variables that say where or how safely to connect and are not read. */
const notRead: Readonly<Record<string, string>> = {
  PGSERVICE: 'host, port, user and database in GEMEL_DATABASE or in PGHOST, PGPORT, PGUSER, PGDATABASE',
  PGHOSTADDR: 'the address in GEMEL_DATABASE or PGHOST',
  PGREQUIRESSL: 'PGSSLMODE=require, or better verify-full',
  PGREQUIREAUTH: 'it unset: the server decides how to sign in',
  PGCHANNELBINDING: 'it unset, and PGSSLMODE=verify-full',
  PGTARGETSESSIONATTRS: 'it unset, and the address of the server that is written to',
  PGSSLCRL: 'it unset: lists of revoked certificates are not read',
  PGSSLCRLDIR: 'it unset: lists of revoked certificates are not read',
};

const modes = ['disable', 'require', 'verify-ca', 'verify-full', 'no-verify'] as const;
type Mode = (typeof modes)[number];
const expectedModes = 'disable, require, verify-ca or verify-full';

/**
 * How to reach the server of an address.
 *
 * @param variables the environment, from which comes what the address leaves out
 * @throws Refusal `invalid-request` naming the parameter or variable that cannot be used
 */
export function readServerConnection(address: string, variables: Variables = process.env): ServerConnection {
  for (const [name, expected] of Object.entries(notRead))
    if (isGiven(variables[name])) throw wrong(name, variables[name], 'is not read here', expected);
  const url = parsed(address);
  const found = (setting: Setting) => givenBy(url, variables, setting);
  const host = fromUrl(url.hostname) ?? found('host')?.value;
  const port = url.port === '' ? found('port') : { name: 'GEMEL_DATABASE', value: url.port };
  const user = fromUrl(url.username) ?? found('user')?.value;
  const password = fromUrl(url.password) ?? found('password')?.value;
  const database = fromUrl(url.pathname.slice(1)) ?? found('dbname')?.value;
  return {
    ...(host === undefined ? {} : { host }),
    ...(port === undefined ? {} : { port: wholeNumber(port, 1, 65_535, 'a port, 1 to 65535') }),
    ...(user === undefined ? {} : { user }),
    ...(password === undefined ? {} : { password }),
    ...(database === undefined ? {} : { database }),
    ...(found('options') === undefined ? {} : { options: found('options')?.value }),
    ssl: readTls(found, host),
    connectionTimeoutMillis: readTimeout(found('connect_timeout')),
  };
}

interface Given {
  /** The parameter or variable, as a message names it. */
  readonly name: string;
  readonly value: string;
}

function parsed(address: string): URL {
  let url: URL;
  try {
    // An address without a host, `postgresql:///name`, and one with a user and no host.
    url = new URL(address.replace(/^(postgres(?:ql)?:\/\/[^/@]*@)(?=[:/?]|$)/, '$1localhost'));
  } catch {
    throw wrong(
      'GEMEL_DATABASE',
      withoutPassword(address),
      'cannot be read',
      'postgresql://user@host:5432/name, with signs such as @ and / in names and passwords as %40 and %2F',
    );
  }
  for (const [name, value] of url.searchParams) {
    if (name in settings || name === 'application_name') continue;
    const allowed = Object.keys(settings).join(', ');
    throw wrong(`GEMEL_DATABASE: ${name}`, value, 'is not a setting of the address', `one of ${allowed}`);
  }
  return url;
}

function givenBy(url: URL, variables: Variables, setting: Setting): Given | undefined {
  const inAddress = url.searchParams.get(setting);
  if (isGiven(inAddress)) return { name: `GEMEL_DATABASE: ${setting}`, value: inAddress };
  const value = variables[settings[setting]];
  return isGiven(value) ? { name: settings[setting], value } : undefined;
}

function isGiven(value: string | null | undefined): value is string {
  return value !== undefined && value !== null && value !== '';
}

function fromUrl(part: string): string | undefined {
  if (part === '') return undefined;
  try {
    return decodeURIComponent(part).replace(/^\[(.*)\]$/, '$1');
  } catch {
    throw wrong(
      'GEMEL_DATABASE',
      undefined,
      'has a % that is not followed by two digits',
      'a % itself as %25',
    );
  }
}

function wholeNumber({ name, value }: Given, least: number, most: number, expected: string): number {
  const number = Number(value);
  if (/^\d+$/.test(value) && number >= least && number <= most) return number;
  throw wrong(name, value, 'cannot be used', expected);
}

/** 0 waits without end, as PostgreSQL's documentation has it. */
function readTimeout(given: Given | undefined): number {
  if (given === undefined) return connectTimeoutMs;
  return 1000 * wholeNumber(given, 0, 3600, 'seconds, 0 to 3600');
}

function readTls(
  found: (setting: Setting) => Given | undefined,
  host: string | undefined,
): false | ConnectionOptions {
  const mode = readMode(found('sslmode'));
  if (mode === 'disable') return false;
  const root = found('sslrootcert');
  // The word names the authorities that the system trusts.
  const ca = root === undefined || root.value === 'system' ? undefined : readPem(root, 'CERTIFICATE');
  if (mode === 'verify-ca' && root === undefined) {
    throw wrong(
      'sslrootcert',
      undefined,
      'is missing, without which verify-ca has nothing to verify by',
      'PGSSLROOTCERT, a file with the certificate of the authority',
    );
  }
  const [cert, key] = [found('sslcert'), found('sslkey')];
  if ((cert === undefined) !== (key === undefined)) {
    const [there, missing] = cert === undefined ? [key, 'sslcert'] : [cert, 'sslkey'];
    throw wrong(there?.name ?? '', there?.value, 'needs the other half of the pair', missing);
  }
  const name = host ?? 'localhost';
  return {
    ...(ca === undefined ? {} : { ca }),
    ...(cert === undefined ? {} : { cert: readPem(cert, 'CERTIFICATE') }),
    ...(key === undefined ? {} : { key: readPem(key, 'PRIVATE KEY') }),
    // The name in the certificate is compared with this one, also where it is the number of an address.
    host: name,
    ...(isIP(name) === 0 ? { servername: name } : {}),
    // With a certificate of the authority at hand, `require` verifies by it, as PostgreSQL's own clients do.
    ...(mode === 'no-verify' || (mode === 'require' && ca === undefined)
      ? { rejectUnauthorized: false }
      : {}),
    ...(mode === 'verify-full' ? {} : { checkServerIdentity: () => undefined }),
  };
}

function readMode(given: Given | undefined): Mode {
  if (given === undefined) return 'disable';
  const { name, value } = given;
  if (value === 'allow' || value === 'prefer') {
    const reason = 'would take an unprotected connection without a word, which is not done here';
    throw wrong(name, value, reason, expectedModes);
  }
  const mode = modes.find((each) => each === value);
  if (mode === undefined) throw wrong(name, value, 'is not a way to protect a connection', expectedModes);
  return mode;
}

/** A file with a certificate or key as text. */
function readPem({ name, value }: Given, what: 'CERTIFICATE' | 'PRIVATE KEY'): string {
  let text: string;
  try {
    text = readFileSync(value, 'utf8');
  } catch (error) {
    throw wrong(name, value, `cannot be read: ${(error as Error).message}`, 'the path of a PEM file');
  }
  if (!new RegExp(`-----BEGIN [A-Z ]*${what}-----`).test(text))
    throw wrong(name, value, `holds no ${what.toLowerCase()}`, `a PEM file, BEGIN ${what}`);
  return text;
}

function wrong(field: string, value: string | undefined, reason: string, expected: string): Refusal {
  const shown = value === undefined ? field : `${field}=${value}`;
  return new Refusal(
    'invalid-request',
    `The database cannot be reached so: ${shown} ${reason}; expected: ${expected}.`,
    [fieldError(field, value, reason, expected)],
  );
}

/** The address of a database as it may be shown: without its password. */
export function withoutPassword(address: string): string {
  try {
    const url = new URL(address);
    url.password = '';
    url.searchParams.delete('password');
    return url.href;
  } catch {
    return 'postgresql://…';
  }
}
