import type { PreviewPairing } from '../contract/pairings.ts';
import { answerBesideServing } from '../jobs/besideServing.ts';
import { putJob } from '../jobs/queue.ts';
import { hasMoreCellsThan } from '../store/cells.ts';
import { pagePairings } from '../store/pairings.ts';
import type { Store } from '../store/store.ts';
import { studyPair } from '../use-cases/charging/studyPair.ts';
import { collectCells } from '../use-cases/pairing/collectCells.ts';
import { decidePair } from '../use-cases/pairing/decidePair.ts';
import { previewPairing } from '../use-cases/pairing/previewPairing.ts';
import { readPair, readPairing } from '../use-cases/pairing/readPairing.ts';
import { swapPairs } from '../use-cases/pairing/swapPairs.ts';
import { defineRoute, type Route } from './route.ts';

/** The acceptable pairs among so many cells are counted in no more time than other requests take. */
const fewCells = 500;

async function offersMany(store: Store, { cellIds, lotIds }: PreviewPairing): Promise<boolean> {
  if (cellIds.length > fewCells || lotIds.length > 1) return true;
  return lotIds.length === 1 && hasMoreCellsThan(store, lotIds[0], fewCells);
}

export const pairingRoutes: readonly Route[] = [
  defineRoute('GET /pairings', {
    role: 'reader',
    handle: async ({ context, query }) => pagePairings(context.store, query),
  }),
  defineRoute('POST /pairings', {
    role: 'operator',
    // What would be refused is refused now and not only when the job's turn has come.
    prepare: async ({ context, body }) => {
      if (await offersMany(context.store, body)) await answerBesideServing(context, 'check-pairing', body);
      else await collectCells(context, body);
    },
    handle: async ({ context, body }) => putJob(context, 'pair', body),
  }),
  defineRoute('POST /pairings/preview', {
    role: 'reader',
    handle: async ({ context, body }) =>
      (await offersMany(context.store, body))
        ? answerBesideServing(context, 'preview-pairing', body)
        : previewPairing(context, body),
  }),
  defineRoute('GET /pairings/{id}', {
    role: 'reader',
    handle: async ({ context, params }) => readPairing(context, params.id),
  }),
  defineRoute('POST /pairings/{id}/swap', {
    role: 'operator',
    handle: async ({ context, params, version, body }) => swapPairs(context, params.id, version, body),
  }),
  defineRoute('GET /pairs/{id}', {
    role: 'reader',
    handle: async ({ context, params }) => readPair(context, params.id),
  }),
  defineRoute('GET /pairs/{id}/charge', {
    role: 'reader',
    handle: async ({ context, params }) => studyPair(context, params.id),
  }),
  defineRoute('PATCH /pairs/{id}', {
    role: 'operator',
    handle: async ({ context, params, version, body }) => decidePair(context, params.id, version, body),
  }),
];
