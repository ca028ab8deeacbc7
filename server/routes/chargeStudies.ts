import { studyCharge } from '../assess/charging/studyCharge.ts';
import type { ChargeStudyDescription } from '../contract/chargeStudy.ts';
import { answerBesideServing } from '../jobs/besideServing.ts';
import { pageChargeStudies } from '../store/chargeStudies.ts';
import { draftChargeStudy } from '../use-cases/charging/draftChargeStudy.ts';
import { keepChargeStudy, removeChargeStudy } from '../use-cases/charging/keepChargeStudy.ts';
import { readChargeStudy } from '../use-cases/charging/readChargeStudy.ts';
import { defineRoute, type Route } from './route.ts';

/** Simulations of a study that take no longer than other requests. */
const fewSimulations = 200;

/** Whether a study would keep others waiting: many draws, or a table of many rates, each of which is searched for. */
function takesLong({ questions }: ChargeStudyDescription): boolean {
  const { monteCarlo, rateTable, stagedProfile } = questions;
  const rates =
    rateTable === undefined ? 0 : rateTable.temperatureC.length * rateTable.resistanceGrowth.length;
  return stagedProfile !== undefined || (monteCarlo?.draws ?? 0) + 20 * rates > fewSimulations;
}

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
    handle: ({ context, body: { description } }) =>
      takesLong(description)
        ? answerBesideServing(context, 'study-charge', description)
        : studyCharge(description),
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
