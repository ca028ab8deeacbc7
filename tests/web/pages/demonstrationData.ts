import { spawn } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, renameSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';

/**
 * Copies the data folder of a loaded demonstration to `dataFolder`. It is loaded once a test run, by `npm start`'s own
 * loader: by `npm test` before the tests, else by the first that asks, and others wait.
 */
export async function copyDemonstration(root: string, dataFolder: string): Promise<void> {
  const before = process.env.GEMEL_TEST_DEMONSTRATION;
  if (before !== undefined) {
    cpSync(before, dataFolder, { recursive: true });
    return;
  }
  const run = process.env.GEMEL_TEST_RUN ?? mkdtempSync(join(tmpdir(), 'gemel-test-run-'));
  const loaded = join(run, 'demonstration');
  while (!existsSync(loaded)) {
    if (!tryLock(join(run, 'loading'))) {
      await sleep(200);
      continue;
    }
    const part = join(run, 'demonstration.part');
    try {
      await load(root, part);
      renameSync(part, loaded);
    } finally {
      rmSync(part, { recursive: true, force: true });
      rmSync(join(run, 'loading'), { recursive: true });
    }
  }
  cpSync(loaded, dataFolder, { recursive: true });
}

/** Creating a folder succeeds for one process only. */
function tryLock(folder: string): boolean {
  try {
    mkdirSync(folder);
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return false;
    throw error;
  }
}

function load(root: string, dataFolder: string): Promise<void> {
  const env = { ...process.env, GEMEL_DATA: dataFolder, GEMEL_LOG: 'error' };
  const child = spawn(process.execPath, ['dist/seed/load.js'], {
    cwd: root,
    env,
    stdio: ['ignore', 'ignore', 'pipe'],
  });
  let errors = '';
  child.stderr.on('data', (chunk: Buffer) => {
    errors += chunk.toString();
  });
  return new Promise((resolve, reject) => {
    child.once('exit', (code) =>
      code === 0 ? resolve() : reject(new Error(`The demonstration could not be loaded: ${errors}`)),
    );
  });
}
