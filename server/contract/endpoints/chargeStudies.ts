import {
  chargeStudyDraft,
  chargeStudyPage,
  chargeStudyQuery,
  computeChargeStudy,
  createChargeStudy,
  draftChargeStudy,
  storedChargeStudy,
} from '../chargeStudies.ts';
import { chargeStudyResult } from '../chargeStudyResult.ts';
import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';

export const chargeStudyEndpoints = {
  'GET /charge-studies': {
    tag: 'Charge studies',
    summary: 'Charge studies, newest first',
    query: chargeStudyQuery,
    answer: chargeStudyPage,
  },
  'POST /charge-studies/draft': {
    tag: 'Charge studies',
    summary: 'A study description of a stack or of cells from their fitted parameters; nothing is stored',
    body: draftChargeStudy,
    answer: chargeStudyDraft,
  },
  'POST /charge-studies/compute': {
    tag: 'Charge studies',
    summary: 'Compute a study description; nothing is stored',
    body: computeChargeStudy,
    answer: chargeStudyResult,
  },
  'POST /charge-studies': {
    tag: 'Charge studies',
    summary: 'Keep a charge study and compute it in the background',
    body: createChargeStudy,
    answer: storedChargeStudy,
    status: 201,
    idempotent: true,
  },
  'GET /charge-studies/{id}': {
    tag: 'Charge studies',
    summary: 'A charge study with its description and, once computed, its result',
    params: idParameter,
    answer: storedChargeStudy,
  },
  'DELETE /charge-studies/{id}': {
    tag: 'Charge studies',
    summary: 'Remove a charge study',
    params: idParameter,
    changesVersion: true,
  },
} as const satisfies EndpointTable;
