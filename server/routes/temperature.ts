import { assessTemperature } from '../use-cases/temperature/assessTemperature.ts';
import { readTemperature } from '../use-cases/temperature/readTemperature.ts';
import { defineRoute, type Route } from './route.ts';

export const temperatureRoutes: readonly Route[] = [
  defineRoute('POST /cell-types/{id}/temperature', {
    role: 'operator',
    handle: async ({ context, params }) => assessTemperature(context, params.id),
  }),
  defineRoute('GET /cell-types/{id}/temperature', {
    role: 'reader',
    handle: async ({ context, params }) => readTemperature(context, params.id),
  }),
];
