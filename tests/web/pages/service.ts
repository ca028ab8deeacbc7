import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { copyDemonstration } from './demonstrationData.ts';

const root = fileURLToPath(new URL('../../../', import.meta.url));

export interface RunningService {
  /** `http://127.0.0.1:PORT`. */
  readonly address: string;
  readonly dataFolder: string;
  stop(): Promise<void>;
  /** Ends the service and leaves its data; `start` lets it serve again at the same address. */
  end(): Promise<void>;
  start(): Promise<void>;
}

export interface ServiceOptions {
  /** Loads the demonstration first, as `npm start` does on an empty database. */
  readonly demonstration: boolean;
}

/** The real service, as built by `npm run build`, on a free port with a database of its own in a temporary folder. */
export async function startService({ demonstration }: ServiceOptions): Promise<RunningService> {
  for (const built of ['web/dist/index.html', 'dist/server/commands/main.js']) {
    if (!existsSync(join(root, built))) throw new Error(`${built} is missing. Run: npm run build`);
  }
  const dataFolder = mkdtempSync(join(tmpdir(), 'gemel-pages-'));
  const env = { ...process.env, GEMEL_DATA: dataFolder, GEMEL_PORT: '0', GEMEL_LOG: 'error' };
  if (demonstration) await copyDemonstration(root, dataFolder);
  let wanted = true;
  let port = '0';
  const serve = async () => {
    const child = spawn(process.execPath, ['dist/server/commands/main.js', 'serve'], {
      cwd: root,
      env: { ...env, GEMEL_PORT: port },
      stdio: ['ignore', 'ignore', 'pipe'],
    });
    const address = await addressOf(child);
    port = new URL(address).port;
    child.once('exit', (code, signal) => {
      if (wanted) console.error(`The service ended by itself with ${code ?? signal}.`);
    });
    child.stderr?.on('data', (chunk: Buffer) => console.error(`service: ${chunk.toString().trimEnd()}`));
    return { process: child, address };
  };
  let running = await serve();
  const end = async () => {
    wanted = false;
    await ended(running.process);
  };
  return {
    address: running.address,
    dataFolder,
    end,
    start: async () => {
      running = await serve();
      wanted = true;
    },
    stop: async () => {
      await end();
      rmSync(dataFolder, { recursive: true, force: true });
    },
  };
}

/** The address that the service writes to standard error when it is ready. */
function addressOf(child: ChildProcess): Promise<string> {
  return new Promise((resolve, reject) => {
    let text = '';
    const late = setTimeout(() => reject(new Error(`The service did not start: ${text}`)), 30_000);
    child.stderr?.on('data', (chunk: Buffer) => {
      text += chunk.toString();
      const match = /http:\/\/127\.0\.0\.1:\d+/.exec(text);
      if (match === null) return;
      clearTimeout(late);
      resolve(match[0]);
    });
    child.once('exit', (code) => {
      clearTimeout(late);
      reject(new Error(`The service ended with ${code}: ${text}`));
    });
  });
}

function ended(child: ChildProcess): Promise<void> {
  return new Promise((resolve) => {
    if (child.exitCode !== null) {
      resolve();
      return;
    }
    child.once('exit', () => resolve());
    child.kill('SIGTERM');
  });
}
