import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { projectRoot } from '../../server/projectRoot.ts';
import { isMissing } from '../support/required.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

const folder = join(projectRoot, 'web', 'dist');

describe.skipIf(isMissing('web/dist', existsSync(join(folder, 'index.html')), 'npm run build'))(
  'the served pages',
  () => {
    let test: TestApp;
    beforeAll(async () => {
      test = await openTestApp();
    });
    afterAll(async () => test.close());
    const cacheOf = async (path: string) => (await request(test.app).get(path)).headers['cache-control'];

    it('let a browser keep only the files whose name changes with their content', async () => {
      const [bundled] = readdirSync(join(folder, 'assets'));
      expect(await cacheOf(`/assets/${bundled}`)).toContain('immutable');
      expect(await cacheOf('/colourScheme.js')).toBe('public, max-age=0');
      expect(await cacheOf('/lots')).toBe('no-cache');
    });

    it('answer 404 for a bundled file of another version, not a page', async () => {
      const { status, body } = await request(test.app)
        .get('/assets/LotsPage-00000000.js')
        .set('Accept', '*/*');
      expect([status, body.code]).toEqual([404, 'not-found']);
    });
  },
);
