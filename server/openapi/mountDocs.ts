import type { Express } from 'express';
import type { Route } from '../routes/route.ts';
import { docsPage } from './docsPage.ts';
import { openApiDocument } from './document.ts';

/** Serves the description of the routes as a page to read at `/api/docs`. */
export function mountDocs(app: Express, routes: readonly Route[]): void {
  let page: string | null = null;
  app.get('/api/docs', (_request, response) => {
    page ??= docsPage(openApiDocument(routes));
    response.type('text/html; charset=utf-8').send(page);
  });
}
