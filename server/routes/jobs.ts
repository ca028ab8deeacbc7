import { setTimeout as delay } from 'node:timers/promises';
import { notFound } from '../errors.ts';
import { cancelJob, putJob, retryJob } from '../jobs/queue.ts';
import { findJob, pageJobs } from '../store/jobs.ts';
import { findLotHead } from '../store/lots.ts';
import { publicJob } from './publicJob.ts';
import { defineRawRoute, defineRoute, type Route } from './route.ts';

const lookEveryMs = 200;
/** A line without meaning, now and then, keeps proxies and browsers from giving the connection up. */
const breatheEveryMs = 15_000;

export const jobRoutes: readonly Route[] = [
  defineRoute('GET /jobs', {
    role: 'reader',
    handle: async ({ context, query }) => {
      const page = await pageJobs(context.store, query);
      return { ...page, items: page.items.map(publicJob) };
    },
  }),
  defineRoute('GET /jobs/{id}', {
    role: 'reader',
    handle: async ({ context, params }) => {
      const found = await findJob(context.store, params.id);
      if (found === null) throw notFound('job', params.id);
      return publicJob(found);
    },
  }),
  defineRoute('POST /jobs/{id}/cancel', {
    role: 'operator',
    handle: async ({ context, params }) => publicJob(await cancelJob(context, params.id)),
  }),
  defineRoute('POST /jobs/{id}/retry', {
    role: 'operator',
    handle: async ({ context, params }) => publicJob(await retryJob(context, params.id)),
  }),
  defineRawRoute('GET /jobs/{id}/events', {
    role: 'reader',
    handleRaw: async ({ context, params }, request, response) => {
      let told = '';
      let current = await findJob(context.store, params.id);
      if (current === null) throw notFound('job', params.id);
      response.writeHead(200, {
        'Content-Type': 'text/event-stream',
        'Cache-Control': 'no-store',
        Connection: 'keep-alive',
      });
      let open = true;
      request.on('close', () => {
        open = false;
      });
      let spokeAt = performance.now();
      while (open && current !== null) {
        const text = JSON.stringify(publicJob(current));
        if (text !== told) {
          response.write(`event: job\ndata: ${text}\n\n`);
          told = text;
          spokeAt = performance.now();
        } else if (performance.now() - spokeAt > breatheEveryMs) {
          response.write(': \n\n');
          spokeAt = performance.now();
        }
        if (current.state !== 'waiting' && current.state !== 'running') break;
        await delay(lookEveryMs);
        current = await findJob(context.store, params.id);
      }
      response.end();
    },
  }),
  defineRoute('POST /lots/{id}/evaluate', {
    role: 'operator',
    handle: async ({ context, params, body }) => {
      if (!(await findLotHead(context.store, params.id))) throw notFound('lot', params.id);
      return putJob(context, 'evaluate-lot', { lotId: params.id, onlyNotEvaluated: !body.again });
    },
  }),
];
