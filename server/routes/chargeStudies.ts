import {
  chargeStudyDraft,
  chargeStudyPage,
  chargeStudyQuery,
  computeChargeStudy,
  createChargeStudy,
  draftChargeStudy as draftBody,
  storedChargeStudy,
} from '../contract/chargeStudies.ts';
import { chargeStudyResult } from '../contract/chargeStudyResult.ts';
import { idParameter } from '../contract/common.ts';
import { pageChargeStudies } from '../store/chargeStudies.ts';
import { draftChargeStudy } from '../use-cases/charging/draftChargeStudy.ts';
import { keepChargeStudy, removeChargeStudy } from '../use-cases/charging/keepChargeStudy.ts';
import { readChargeStudy } from '../use-cases/charging/readChargeStudy.ts';
import { studyCharge } from '../use-cases/charging/studyCharge.ts';
import { defineRoute, type Route } from './route.ts';

const tag = 'Charge studies';

export const chargeStudyRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/charge-studies',
    tag,
    summary: 'Charge studies, newest first',
    role: 'reader',
    query: chargeStudyQuery,
    answer: chargeStudyPage,
    handle: async ({ context, query }) => pageChargeStudies(context.store, query),
  }),
  defineRoute({
    method: 'post',
    path: '/charge-studies/draft',
    tag,
    summary: 'A study description of a stack or of cells from their fitted parameters; nothing is stored',
    role: 'reader',
    body: draftBody,
    answer: chargeStudyDraft,
    handle: async ({ context, body }) => draftChargeStudy(context, body),
  }),
  defineRoute({
    method: 'post',
    path: '/charge-studies/compute',
    tag,
    summary: 'Compute a study description; nothing is stored',
    role: 'reader',
    body: computeChargeStudy,
    answer: chargeStudyResult,
    handle: ({ body }) => studyCharge(body.description),
  }),
  defineRoute({
    method: 'post',
    path: '/charge-studies',
    tag,
    summary: 'Keep a charge study and compute it in the background',
    role: 'operator',
    body: createChargeStudy,
    answer: storedChargeStudy,
    status: 201,
    idempotent: true,
    handle: async ({ context, body }) => keepChargeStudy(context, body),
  }),
  defineRoute({
    method: 'get',
    path: '/charge-studies/{id}',
    tag,
    summary: 'A charge study with its description and, once computed, its result',
    role: 'reader',
    params: idParameter,
    answer: storedChargeStudy,
    handle: async ({ context, params }) => readChargeStudy(context, params.id),
  }),
  defineRoute({
    method: 'delete',
    path: '/charge-studies/{id}',
    tag,
    summary: 'Remove a charge study',
    role: 'owner',
    params: idParameter,
    changesVersion: true,
    handle: async ({ context, params, version }) => {
      await removeChargeStudy(context, params.id, version);
      return undefined;
    },
  }),
];
