import { isUtf8 } from 'node:buffer';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import compression from 'compression';
import express, { type Express, type NextFunction, type Request, type Response } from 'express';
import helmet from 'helmet';
import type { Logger } from 'pino';
import { identify } from './access/identify.ts';
import type { Config } from './config.ts';
import type { Context } from './context.ts';
import { Refusal } from './errors.ts';
import { limitRequests } from './limitRequests.ts';
import { mountDocs } from './openapi/mountDocs.ts';
import { notUtf8, problemHandler, reportFault } from './problem.ts';
import { projectRoot } from './projectRoot.ts';
import { allRoutes } from './routes/all.ts';
import { mountRoutes } from './routes/mount.ts';

/** What the application is made of; only the entry file listens. */
export interface AppParts {
  readonly config: Config;
  readonly base: Omit<Context, 'actor'>;
  readonly log: Logger;
  /** Checks every answer against its schema: in the tests, where a deviation must fail. */
  readonly checkAnswers?: boolean;
}

/** Four thousand live channels a second, each with a request of its own, would meet it. */
const mostRequestsAMinute = 240_000;
/** Shorter answers go into one packet as they are. */
const leastCompressedBytes = 1024;

const loopbackNames = new Set(['127.0.0.1', 'localhost', '[::1]']);

/**
 * Refuses requests for another host or from another origin, so that a page elsewhere in the browser can neither read
 * nor change anything through a name that resolves to this machine.
 */
function checkHostAndOrigin(request: Request, _response: Response, next: NextFunction): void {
  const host = request.headers.host ?? '';
  if (!loopbackNames.has(host.replace(/:\d+$/, ''))) {
    next(new Refusal('host-not-served', `The host ${host} is not served here; use 127.0.0.1 or localhost.`));
    return;
  }
  const { origin } = request.headers;
  if (origin !== undefined && origin !== `http://${host}`) {
    next(new Refusal('host-not-served', `Requests from ${origin} are not served.`));
    return;
  }
  next();
}

/** Builds the service without listening. */
export function createApp(parts: AppParts): Express {
  const { config, base, log } = parts;
  const app = express();
  app.disable('x-powered-by');
  app.set('query parser', 'simple');
  app.use(checkHostAndOrigin);
  app.use(
    helmet({
      contentSecurityPolicy: {
        directives: {
          defaultSrc: ["'self'"],
          // Mantine writes its theme's variables into a style element.
          styleSrc: ["'self'", "'unsafe-inline'"],
          imgSrc: ["'self'", 'data:', 'blob:'],
          connectSrc: ["'self'"],
          upgradeInsecureRequests: null,
        },
      },
      strictTransportSecurity: false,
    }),
  );
  app.use('/api', limitRequests(mostRequestsAMinute, 60_000));
  const compress = compression({ filter: isCompressed, threshold: leastCompressedBytes });
  app.use('/api/v1', apiRouter(parts));
  app.use(compress);
  mountDocs(app, allRoutes);
  app.use('/api', (request, _response, next) =>
    next(new Refusal('not-found', `There is no ${request.originalUrl}.`)),
  );
  servePages(app);
  app.use(problemHandler(log));
  log.debug({ database: config.database.kind }, 'application built');
  return app;

  function apiRouter({ checkAnswers }: AppParts) {
    const router = express.Router({ caseSensitive: true });
    router.use(express.json({ limit: config.bodyLimitBytes, strict: false, verify: requireUtf8 }));
    router.use(refuseOtherBodies);
    mountRoutes(router, allRoutes, {
      checkAnswers: checkAnswers ?? false,
      reportFault: (error, request) => reportFault(log, error, request),
      compress: { handler: compress, leastBytes: leastCompressedBytes },
      contextOf: async (request) => ({
        ...base,
        actor: await identify(
          base.store,
          request.get('Authorization'),
          config.tokenRequired,
          base.now().toISOString(),
        ),
      }),
    });
    return router;
  }
}

/** Progress is sent event by event, which a compressor would hold back; what is compressed already gains nothing. */
function isCompressed(request: Request, response: Response): boolean {
  const type = String(response.getHeader('Content-Type') ?? '');
  return !type.startsWith('text/event-stream') && compression.filter(request, response);
}

/** Bytes that are not UTF-8 would be stored as other letters than were sent. */
function requireUtf8(_request: unknown, _response: unknown, body: Buffer, encoding: string): void {
  if (encoding.toLowerCase() === 'utf-8' && !isUtf8(body))
    throw Object.assign(new Error('not UTF-8'), { type: notUtf8 });
}

/** A form or text body on a JSON route would be read as empty; say so instead. Uploads and samples are read raw. */
function refuseOtherBodies(request: Request, _response: Response, next: NextFunction): void {
  const type = request.get('Content-Type');
  const raw = /^\/(imports|uploads|operating-points|cells\/\d+\/pictures|stacks\/\d+\/pictures)/.test(
    request.path,
  );
  const hasBody =
    request.headers['transfer-encoding'] !== undefined || Number(request.headers['content-length'] ?? 0) > 0;
  if (hasBody && !raw && !(type ?? '').toLowerCase().includes('json')) {
    next(
      new Refusal(
        'unsupported-media-type',
        `A body of type ${type ?? 'unknown'} cannot be read here; send application/json.`,
      ),
    );
    return;
  }
  next();
}

/** The pages: bundled files with long caching, and the one document for every address of a page. */
function servePages(app: Express): void {
  const folder = join(projectRoot, 'web', 'dist');
  const document = join(folder, 'index.html');
  if (!existsSync(document)) {
    app.get('/', (_request, response) => {
      response.status(503).type('text/plain').send('The pages are not built. Run: npm run build\n');
    });
    return;
  }
  // Bundled files carry a hash of their content in their name; the few others keep their name when they change.
  app.use('/assets', express.static(join(folder, 'assets'), { index: false, maxAge: '1y', immutable: true }));
  app.use('/assets', (request, _response, next) =>
    next(new Refusal('not-found', `There is no ${request.originalUrl}.`)),
  );
  app.use(express.static(folder, { index: false, maxAge: 0 }));
  app.get('/{*path}', (request, response, next) => {
    if (!request.accepts('html')) {
      next(new Refusal('not-found', `There is no ${request.originalUrl}.`));
      return;
    }
    response.sendFile(document, { headers: { 'Cache-Control': 'no-cache' }, maxAge: 0, cacheControl: false });
  });
}
