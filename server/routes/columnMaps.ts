import { nowText } from '../context.ts';
import { fieldError, notFound, Refusal } from '../errors.ts';
import { headerFingerprint } from '../import/fingerprint.ts';
import { compileNamePattern } from '../import/namePattern.ts';
import {
  deleteColumnMap,
  deleteNamePattern,
  listColumnMaps,
  listNamePatterns,
  saveColumnMap,
  saveNamePattern,
} from '../store/columnMaps.ts';
import { columnMapFileOf, takeColumnMaps } from '../use-cases/imports/columnMapFile.ts';
import { defineRoute, type Route } from './route.ts';

/** Compiles a pattern, as a refusal of the request where it cannot be. */
function compile(pattern: string): ReturnType<typeof compileNamePattern> {
  try {
    return compileNamePattern(pattern);
  } catch (error) {
    throw new Refusal('invalid-request', `The name pattern cannot be used: ${(error as Error).message}.`, [
      fieldError(
        'pattern',
        pattern,
        (error as Error).message,
        'for example {cell}_{kind}_{temperature}C.csv',
      ),
    ]);
  }
}

export const columnMapRoutes: readonly Route[] = [
  defineRoute('GET /column-maps', {
    role: 'reader',
    handle: async ({ context }) => ({ items: await listColumnMaps(context.store) }),
  }),
  defineRoute('POST /column-maps', {
    role: 'operator',
    handle: async ({ context, body }) => {
      const { name, header, fingerprint, reading } = body;
      if ((header === undefined) === (fingerprint === undefined))
        throw new Refusal('invalid-request', 'A column map belongs to one header.', [
          fieldError(
            'header',
            undefined,
            'needs exactly one of header and fingerprint',
            'the header of a file, or the fingerprint of a kept map',
          ),
        ]);
      return saveColumnMap(context.store, {
        name,
        fingerprint: header === undefined ? (fingerprint ?? '') : headerFingerprint(header),
        reading,
        createdAt: nowText(context),
      });
    },
  }),
  defineRoute('GET /column-maps/file', {
    role: 'reader',
    handle: async ({ context }) => columnMapFileOf(context, []),
  }),
  defineRoute('POST /column-maps/file', {
    role: 'operator',
    handle: async ({ context, body }) => ({ items: await takeColumnMaps(context, body) }),
  }),
  defineRoute('DELETE /column-maps/{id}', {
    role: 'operator',
    handle: async ({ context, params }) => {
      if (!(await deleteColumnMap(context.store, params.id))) throw notFound('column map', params.id);
      return undefined;
    },
  }),
  defineRoute('GET /name-patterns', {
    role: 'reader',
    handle: async ({ context }) => ({ items: await listNamePatterns(context.store) }),
  }),
  defineRoute('POST /name-patterns', {
    role: 'operator',
    handle: async ({ context, body }) => {
      compile(body.pattern);
      return saveNamePattern(context.store, { ...body, createdAt: nowText(context) });
    },
  }),
  defineRoute('DELETE /name-patterns/{id}', {
    role: 'operator',
    handle: async ({ context, params }) => {
      if (!(await deleteNamePattern(context.store, params.id))) throw notFound('name pattern', params.id);
      return undefined;
    },
  }),
  defineRoute('POST /name-patterns/try', {
    role: 'reader',
    handle: ({ body }) => {
      const match = compile(body.pattern);
      return {
        items: body.names.map((name) => {
          const parts = match(name);
          return {
            name,
            matches: parts !== null,
            ...(parts ?? { cell: null, testKind: null, temperatureC: null, startSoc: null, label: null }),
          };
        }),
      };
    },
  }),
];
