import { nowText } from '../context.ts';
import { idParameter } from '../contract/common.ts';
import {
  columnMap,
  columnMapList,
  namePattern,
  namePatternList,
  namePatternResult,
  namePatternTrial,
  newColumnMap,
  newNamePattern,
} from '../contract/import.ts';
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
import { defineRoute, type Route } from './route.ts';

const tag = 'Imports';

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
  defineRoute({
    method: 'get',
    path: '/column-maps',
    tag,
    summary: 'Column maps that are kept, one per instrument',
    role: 'reader',
    answer: columnMapList,
    handle: async ({ context }) => ({ items: await listColumnMaps(context.store) }),
  }),
  defineRoute({
    method: 'post',
    path: '/column-maps',
    tag,
    summary: 'Keep a column map under a name; it is proposed for files with the same header',
    role: 'operator',
    body: newColumnMap,
    answer: columnMap,
    status: 201,
    handle: async ({ context, body }) =>
      saveColumnMap(context.store, {
        name: body.name,
        fingerprint: headerFingerprint(body.header),
        reading: body.reading,
        createdAt: nowText(context),
      }),
  }),
  defineRoute({
    method: 'delete',
    path: '/column-maps/{id}',
    tag,
    summary: 'Forget a column map',
    role: 'operator',
    params: idParameter,
    handle: async ({ context, params }) => {
      if (!(await deleteColumnMap(context.store, params.id))) throw notFound('column map', params.id);
      return undefined;
    },
  }),
  defineRoute({
    method: 'get',
    path: '/name-patterns',
    tag,
    summary: 'Patterns that read cell, kind and temperature from file names',
    role: 'reader',
    answer: namePatternList,
    handle: async ({ context }) => ({ items: await listNamePatterns(context.store) }),
  }),
  defineRoute({
    method: 'post',
    path: '/name-patterns',
    tag,
    summary: 'Keep a name pattern',
    role: 'operator',
    body: newNamePattern,
    answer: namePattern,
    status: 201,
    handle: async ({ context, body }) => {
      compile(body.pattern);
      return saveNamePattern(context.store, { ...body, createdAt: nowText(context) });
    },
  }),
  defineRoute({
    method: 'delete',
    path: '/name-patterns/{id}',
    tag,
    summary: 'Forget a name pattern',
    role: 'operator',
    params: idParameter,
    handle: async ({ context, params }) => {
      if (!(await deleteNamePattern(context.store, params.id))) throw notFound('name pattern', params.id);
      return undefined;
    },
  }),
  defineRoute({
    method: 'post',
    path: '/name-patterns/try',
    tag,
    summary: 'Try a name pattern on a list of file names',
    role: 'reader',
    body: namePatternTrial,
    answer: namePatternResult,
    handle: ({ body }) => {
      const match = compile(body.pattern);
      return {
        items: body.names.map((name) => {
          const parts = match(name);
          return {
            name,
            matches: parts !== null,
            ...(parts ?? { cell: null, testKind: null, temperatureC: null, label: null }),
          };
        }),
      };
    },
  }),
];
