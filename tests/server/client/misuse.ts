// Must not compile: the filter, the field and the kind do not exist.
import createClient from 'openapi-fetch';
import type { paths } from './generated.ts';

const client = createClient<paths>({ baseUrl: '' });
await client.GET('/lots', { params: { query: { limmit: 1 } } });
const lot = await client.GET('/lots/{id}', { params: { path: { id: 1 } } });
console.log(lot.data?.colour);
await client.GET('/parameter-sets/{kind}/{id}', { params: { path: { kind: 'test', id: 1 } } });
