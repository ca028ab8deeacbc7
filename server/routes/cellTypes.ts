import {
  cellType,
  cellTypePage,
  changeCellType as changeBody,
  createCellType as createBody,
} from '../contract/cellTypes.ts';
import { idParameter, pageQuery } from '../contract/common.ts';
import { notFound } from '../errors.ts';
import { findCellType, pageCellTypes } from '../store/cellTypes.ts';
import { changeCellType } from '../use-cases/register/changeCellType.ts';
import { createCellType } from '../use-cases/register/createCellType.ts';
import { defineRoute, type Route } from './route.ts';

const tag = 'Cell types';

export const cellTypeRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/cell-types',
    tag,
    summary: 'Cell types by name',
    role: 'reader',
    query: pageQuery,
    answer: cellTypePage,
    handle: async ({ context, query }) => pageCellTypes(context.store, query),
  }),
  defineRoute({
    method: 'post',
    path: '/cell-types',
    tag,
    summary: 'Add a cell type with its datasheet limits',
    role: 'operator',
    body: createBody,
    answer: cellType,
    status: 201,
    idempotent: true,
    handle: async ({ context, body }) => createCellType(context, body),
  }),
  defineRoute({
    method: 'get',
    path: '/cell-types/{id}',
    tag,
    summary: 'A cell type with the limits that hold for it',
    role: 'reader',
    params: idParameter,
    answer: cellType,
    handle: async ({ context, params }) => {
      const found = await findCellType(context.store, params.id);
      if (!found) throw notFound('cell type', params.id);
      return found;
    },
  }),
  defineRoute({
    method: 'patch',
    path: '/cell-types/{id}',
    tag,
    summary: 'Change a cell type',
    role: 'operator',
    params: idParameter,
    body: changeBody,
    answer: cellType,
    changesVersion: true,
    handle: async ({ context, params, body, version }) => changeCellType(context, params.id, version, body),
  }),
];
