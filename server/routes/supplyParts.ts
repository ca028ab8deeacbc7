import { listSupplyParts } from '../store/supplyParts.ts';
import {
  keepSupplyPart,
  readSupplyPart,
  removeSupplyPart,
} from '../use-cases/supply-parts/keepSupplyPart.ts';
import { readOperatingPointFile } from '../use-cases/supply-parts/readOperatingPointFile.ts';
import { readBeginning } from './readBeginning.ts';
import { defineRawRoute, defineRoute, type Route } from './route.ts';

export const supplyPartRoutes: readonly Route[] = [
  defineRoute('GET /supply-parts', {
    role: 'reader',
    handle: async ({ context, query }) => ({ items: await listSupplyParts(context.store, query.kind) }),
  }),
  defineRoute('POST /supply-parts', {
    role: 'operator',
    handle: ({ context, body }) => keepSupplyPart(context, body),
  }),
  defineRoute('GET /supply-parts/{id}', {
    role: 'reader',
    handle: ({ context, params }) => readSupplyPart(context, params.id),
  }),
  defineRoute('DELETE /supply-parts/{id}', {
    role: 'operator',
    handle: async ({ context, params }) => {
      await removeSupplyPart(context, params.id);
      return undefined;
    },
  }),
  defineRawRoute('POST /operating-points', {
    role: 'operator',
    handleRaw: async ({ query }, request, response) => {
      response.json(await readOperatingPointFile((await readBeginning(request)).bytes, query.columns));
    },
  }),
];
