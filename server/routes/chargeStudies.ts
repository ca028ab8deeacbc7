import { studyCharge } from '../assess/charging/studyCharge.ts';
import { pageChargeStudies } from '../store/chargeStudies.ts';
import { draftChargeStudy } from '../use-cases/charging/draftChargeStudy.ts';
import { keepChargeStudy, removeChargeStudy } from '../use-cases/charging/keepChargeStudy.ts';
import { readChargeStudy } from '../use-cases/charging/readChargeStudy.ts';
import { defineRoute, type Route } from './route.ts';

export const chargeStudyRoutes: readonly Route[] = [
  defineRoute('GET /charge-studies', {
    role: 'reader',
    handle: async ({ context, query }) => pageChargeStudies(context.store, query),
  }),
  defineRoute('POST /charge-studies/draft', {
    role: 'reader',
    handle: async ({ context, body }) => draftChargeStudy(context, body),
  }),
  defineRoute('POST /charge-studies/compute', {
    role: 'reader',
    handle: ({ body }) => studyCharge(body.description),
  }),
  defineRoute('POST /charge-studies', {
    role: 'operator',
    handle: async ({ context, body }) => keepChargeStudy(context, body),
  }),
  defineRoute('GET /charge-studies/{id}', {
    role: 'reader',
    handle: async ({ context, params }) => readChargeStudy(context, params.id),
  }),
  defineRoute('DELETE /charge-studies/{id}', {
    role: 'owner',
    handle: async ({ context, params, version }) => {
      await removeChargeStudy(context, params.id, version);
      return undefined;
    },
  }),
];
