import { setTimeout as delay } from 'node:timers/promises';
import { z } from 'zod';
import { idParameter } from '../contract/common.ts';
import { job, jobPage, jobQuery } from '../contract/jobs.ts';
import { notFound } from '../errors.ts';
import { cancelJob, putJob, retryJob } from '../jobs/queue.ts';
import { findJob, pageJobs } from '../store/jobs.ts';
import { findLot } from '../store/lots.ts';
import { publicJob } from './publicJob.ts';
import { defineRawRoute, defineRoute, type Route } from './route.ts';

const tag = 'Jobs';
const lookEveryMs = 200;
/** A line without meaning, now and then, keeps proxies and browsers from giving the connection up. */
const breatheEveryMs = 15_000;

export const jobRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/jobs',
    tag,
    summary: 'Work in the background, newest first',
    role: 'reader',
    query: jobQuery,
    answer: jobPage,
    handle: async ({ context, query }) => {
      const page = await pageJobs(context.store, query);
      return { ...page, items: page.items.map(publicJob) };
    },
  }),
  defineRoute({
    method: 'get',
    path: '/jobs/{id}',
    tag,
    summary: 'A job with its progress and its result',
    role: 'reader',
    params: idParameter,
    answer: job,
    handle: async ({ context, params }) => {
      const found = await findJob(context.store, params.id);
      if (found === null) throw notFound('job', params.id);
      return publicJob(found);
    },
  }),
  defineRoute({
    method: 'post',
    path: '/jobs/{id}/cancel',
    tag,
    summary: 'Stop a job at its next step; what it had begun is undone',
    role: 'operator',
    params: idParameter,
    answer: job,
    handle: async ({ context, params }) => publicJob(await cancelJob(context, params.id)),
  }),
  defineRoute({
    method: 'post',
    path: '/jobs/{id}/retry',
    tag,
    summary: 'Let a job that failed or was cancelled start again',
    role: 'operator',
    params: idParameter,
    answer: job,
    handle: async ({ context, params }) => publicJob(await retryJob(context, params.id)),
  }),
  defineRawRoute({
    method: 'get',
    path: '/jobs/{id}/events',
    tag,
    summary: 'The progress of a job as server-sent events named "job", until it has ended',
    role: 'reader',
    params: idParameter,
    gives: 'text/event-stream',
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
  defineRoute({
    method: 'post',
    path: '/lots/{id}/evaluate',
    tag,
    summary:
      'Evaluate the tests of a lot as a job; with `again` also those that were evaluated, and list what changed',
    role: 'operator',
    params: idParameter,
    body: z.object({ again: z.boolean().default(false) }).strict(),
    answer: job,
    status: 202,
    idempotent: true,
    handle: async ({ context, params, body }) => {
      if (!(await findLot(context.store, params.id))) throw notFound('lot', params.id);
      return putJob(context, 'evaluate-lot', { lotId: params.id, onlyNotEvaluated: !body.again });
    },
  }),
];
