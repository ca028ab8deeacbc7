import { idParameter } from '../contract/common.ts';
import { cellTypeTemperature } from '../contract/temperature.ts';
import { assessTemperature } from '../use-cases/temperature/assessTemperature.ts';
import { readTemperature } from '../use-cases/temperature/readTemperature.ts';
import { defineRoute, type Route } from './route.ts';

const tag = 'Cell types';

export const temperatureRoutes: readonly Route[] = [
  defineRoute({
    method: 'post',
    path: '/cell-types/{id}/temperature',
    tag,
    summary: 'Assess how the resistances of a cell type depend on temperature; the earlier fit is superseded',
    role: 'operator',
    params: idParameter,
    answer: cellTypeTemperature,
    status: 201,
    handle: async ({ context, params }) => assessTemperature(context, params.id),
  }),
  defineRoute({
    method: 'get',
    path: '/cell-types/{id}/temperature',
    tag,
    summary: 'How the resistances of a cell type depend on temperature; null where it was not assessed',
    role: 'reader',
    params: idParameter,
    answer: cellTypeTemperature.nullable(),
    handle: async ({ context, params }) => readTemperature(context, params.id),
  }),
];
