import { columnMap, columnMapFile, columnMapList, newColumnMap } from '../columnMaps.ts';
import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import {
  namePattern,
  namePatternList,
  namePatternResult,
  namePatternTrial,
  newNamePattern,
} from '../namePatterns.ts';

export const columnMapEndpoints = {
  'GET /column-maps': {
    tag: 'Imports',
    summary: 'Column maps that are kept, one per instrument',
    answer: columnMapList,
  },
  'POST /column-maps': {
    tag: 'Imports',
    summary: 'Keep a column map under a name; it is proposed for files with the same header',
    body: newColumnMap,
    answer: columnMap,
    status: 201,
  },
  'GET /column-maps/file': {
    tag: 'Imports',
    summary: 'The kept column maps as a document that another installation takes',
    answer: columnMapFile,
  },
  'POST /column-maps/file': {
    tag: 'Imports',
    summary: 'Keep the column maps of such a document, all or none; one of the same name is replaced',
    body: columnMapFile,
    answer: columnMapList,
    status: 201,
  },
  'DELETE /column-maps/{id}': {
    tag: 'Imports',
    summary: 'Forget a column map',
    params: idParameter,
  },
  'GET /name-patterns': {
    tag: 'Imports',
    summary: 'Patterns that read cell, kind and temperature from file names',
    answer: namePatternList,
  },
  'POST /name-patterns': {
    tag: 'Imports',
    summary: 'Keep a name pattern',
    body: newNamePattern,
    answer: namePattern,
    status: 201,
  },
  'DELETE /name-patterns/{id}': {
    tag: 'Imports',
    summary: 'Forget a name pattern',
    params: idParameter,
  },
  'POST /name-patterns/try': {
    tag: 'Imports',
    summary: 'Try a name pattern on a list of file names',
    body: namePatternTrial,
    answer: namePatternResult,
  },
} as const satisfies EndpointTable;
