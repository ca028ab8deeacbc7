import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { setTimeout as delay } from 'node:timers/promises';
import { projectRoot } from '../../server/projectRoot.ts';
import { programArguments } from './program.ts';

/** A service that runs as a process of its own, as a person starts it. */
export interface RealService {
  readonly process: ChildProcess;
  /** Of its API. */
  readonly address: string;
  end(): Promise<void>;
}

/**
 * Starts the real service on a folder.
 *
 * @param how further settings; `mostFiles` lets the process open no more files and connections
 * @throws Error with what it said where it does not start
 */
export async function startRealService(
  folder: string,
  how: { readonly variables?: Readonly<Record<string, string>>; readonly mostFiles?: number } = {},
): Promise<RealService> {
  const { GEMEL_DATABASE: _other, ...rest } = process.env;
  const node = [process.execPath, ...programArguments, 'serve'];
  const limited = ['bash', '-c', `ulimit -n ${how.mostFiles}; exec "$@"`, 'bash', ...node];
  const [program, ...args] = how.mostFiles === undefined ? node : limited;
  const child = spawn(program, args, {
    cwd: projectRoot,
    env: { ...rest, GEMEL_DATA: folder, GEMEL_PORT: '0', ...how.variables },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let said = '';
  for (const stream of [child.stdout, child.stderr])
    stream.on('data', (piece: Buffer) => {
      said += piece.toString();
    });
  for (let tries = 0; tries < 600 && child.exitCode === null; tries++) {
    const address = /http:\/\/127\.0\.0\.1:\d+/.exec(said)?.[0];
    if (address !== undefined) return { process: child, address: `${address}/api/v1`, end };
    await delay(100);
  }
  await end();
  throw new Error(`The service did not start: ${said}`);

  async function end(): Promise<void> {
    child.kill('SIGKILL');
    if (child.exitCode === null && child.signalCode === null) await once(child, 'exit');
  }
}
