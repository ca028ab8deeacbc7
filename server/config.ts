import { join } from 'node:path';
import { z } from 'zod';
import { Refusal } from './errors.ts';
import { projectRoot } from './projectRoot.ts';
import type { DatabasePlace } from './store/store.ts';
import { wrongFields } from './wrongFields.ts';

const megabytes = 1024 * 1024;

const environment = z.object({
  /** Port of the service; 0 takes a free one. */
  GEMEL_PORT: z.coerce.number().int().min(0).max(65_535).default(4180),
  /** The service answers on this machine only; another address is refused at start. */
  GEMEL_HOST: z.enum(['127.0.0.1', '::1', 'localhost']).default('127.0.0.1'),
  /** A database of a PostgreSQL server; what it leaves out is read from the usual PG* variables. Else a file in GEMEL_DATA. */
  GEMEL_DATABASE: z
    .string()
    .regex(/^postgres(ql)?:\/\//, 'is not an address like postgresql://user@host:5432/name')
    .optional(),
  /** Folder of the database and of what is written beside it. */
  GEMEL_DATA: z.string().min(1).default(join(projectRoot, 'data')),
  /** 1: every request needs a token. */
  GEMEL_TOKEN_REQUIRED: z.enum(['0', '1']).default('0'),
  GEMEL_LOG: z.enum(['silent', 'error', 'warn', 'info', 'debug']).default('warn'),
  /** Largest request body that is not an upload. */
  GEMEL_BODY_LIMIT_MB: z.coerce.number().positive().max(100).default(2),
  /** Largest upload. */
  GEMEL_UPLOAD_LIMIT_MB: z.coerce.number().positive().default(16_384),
  /** Worker threads; by default one less than the machine's cores, at least one; 0 leaves all jobs to others. */
  GEMEL_WORKERS: z.coerce.number().int().min(0).max(64).optional(),
});

/** The service's settings, read once from the environment and then frozen. */
export interface Config {
  readonly port: number;
  readonly host: string;
  readonly dataFolder: string;
  /** The database that is used: `gemel.sqlite` in the data folder, or one of a PostgreSQL server. */
  readonly database: DatabasePlace;
  readonly tokenRequired: boolean;
  readonly log: 'silent' | 'error' | 'warn' | 'info' | 'debug';
  readonly bodyLimitBytes: number;
  readonly uploadLimitBytes: number;
  readonly workers: number | null;
}

/** @throws Refusal naming each variable that is wrong. */
export function readConfig(variables: Record<string, string | undefined> = process.env): Config {
  const parsed = environment.safeParse(variables);
  if (!parsed.success) {
    // An address may hold a password, which belongs in no message.
    const shown = { ...variables };
    if (shown.GEMEL_DATABASE !== undefined)
      shown.GEMEL_DATABASE = shown.GEMEL_DATABASE.replace(/:[^:@/]*@/, ':…@');
    const places = wrongFields(parsed.error, shown, 'environment');
    const names = places.map(({ field }) => field).join(', ');
    throw new Refusal(
      'invalid-request',
      `The environment holds settings that cannot be used: ${names}.`,
      places,
    );
  }
  const env = parsed.data;
  const database: DatabasePlace =
    env.GEMEL_DATABASE === undefined
      ? { kind: 'sqlite', file: join(env.GEMEL_DATA, 'gemel.sqlite') }
      : { kind: 'postgresql', url: env.GEMEL_DATABASE, folder: env.GEMEL_DATA };
  return Object.freeze({
    port: env.GEMEL_PORT,
    host: env.GEMEL_HOST,
    dataFolder: env.GEMEL_DATA,
    database,
    tokenRequired: env.GEMEL_TOKEN_REQUIRED === '1',
    log: env.GEMEL_LOG,
    bodyLimitBytes: env.GEMEL_BODY_LIMIT_MB * megabytes,
    uploadLimitBytes: env.GEMEL_UPLOAD_LIMIT_MB * megabytes,
    workers: env.GEMEL_WORKERS ?? null,
  });
}
