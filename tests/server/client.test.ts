import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import type { Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openApiDocument } from '../../server/openapi/document.ts';
import { projectRoot } from '../../server/projectRoot.ts';
import { allRoutes } from '../../server/routes/all.ts';
import { isMissing } from '../support/required.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { fillStore } from './exportStore.ts';

const source = join(projectRoot, 'tests/server/client');
const generator = join(source, 'node_modules/openapi-typescript/bin/cli.js');
const compiler = join(source, 'node_modules/typescript/bin/tsc');
const missing = isMissing('the client generator', existsSync(generator) && existsSync(compiler), 'npm ci');

describe.skipIf(missing)('a client generated from the description', () => {
  let test: TestApp;
  let server: Server;
  let folder: string;
  beforeAll(async () => {
    test = await openTestApp();
    await fillStore(test.context);
    server = await new Promise<Server>((resolve) => {
      const listening = test.app.listen(0, '127.0.0.1', () => resolve(listening));
    });
    // Beside the workspace's own packages, which are found from there.
    folder = mkdtempSync(join(source, '.build-'));
    writeFileSync(join(folder, 'openapi.json'), JSON.stringify(openApiDocument(allRoutes)));
    writeFileSync(join(folder, 'package.json'), '{ "type": "module" }');
    for (const file of ['consumer.ts', 'misuse.ts'])
      writeFileSync(join(folder, file), readFileSync(join(source, file)));
    const generated = join(folder, 'generated.ts');
    // What has a default may be left out of a request.
    const flags = ['--default-non-nullable=false', '-o', generated];
    const made = spawnSync(process.execPath, [generator, join(folder, 'openapi.json'), ...flags], {
      encoding: 'utf8',
    });
    if (made.status !== 0) throw new Error(made.stderr);
  });
  afterAll(async () => {
    await new Promise((resolve) => server?.close(resolve));
    rmSync(folder, { recursive: true, force: true });
    await test.close();
  });

  /** Compiles a file of the folder strictly and returns what the compiler says. */
  function compile(file: string): string {
    const flags = [
      '--strict',
      '--module',
      'nodenext',
      '--target',
      'es2022',
      '--skipLibCheck',
      '--types',
      'node',
    ];
    const run = spawnSync(
      process.execPath,
      [
        compiler,
        ...flags,
        '--rewriteRelativeImportExtensions',
        '--outDir',
        join(folder, 'out'),
        join(folder, file),
      ],
      { encoding: 'utf8', cwd: folder },
    );
    return run.stdout;
  }

  it('compiles, and works against the running service: paging, ETag, creation, refusal', async () => {
    expect(compile('consumer.ts')).toBe('');
    const address = `http://127.0.0.1:${(server.address() as AddressInfo).port}/api/v1`;
    const output = await new Promise<string>((resolve, reject) => {
      const child = spawn(process.execPath, [join(folder, 'out', 'consumer.js'), address]);
      let text = '';
      let errors = '';
      child.stdout.on('data', (part: Buffer) => {
        text += part.toString();
      });
      child.stderr.on('data', (part: Buffer) => {
        errors += part.toString();
      });
      child.on('close', (code) => (code === 0 ? resolve(text) : reject(new Error(errors))));
    });
    expect(JSON.parse(output)).toMatchObject({
      name: 'Los "A", Teil 1/2',
      note: 'read by a generated client',
      sha256: expect.stringMatching(/^[0-9a-f]{64}$/),
      absent: 'not-found',
    });
    expect(JSON.parse(output).cells).toEqual(expect.arrayContaining([1.95, 2, null]));
  });

  it('does not compile where a query, a field or a value is used that the description does not have', () => {
    const errors = compile('misuse.ts');
    expect(errors).toContain('limmit');
    expect(errors).toContain("Property 'colour' does not exist");
    expect(errors).toContain(`"test"' is not assignable`);
  });
});
