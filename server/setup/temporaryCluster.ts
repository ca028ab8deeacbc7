import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { chownSync, existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';

/** A private PostgreSQL server in a temporary folder. */
export interface TemporaryCluster {
  /** Address of one of its databases; `postgres` is there from the start. */
  url(database: string): string;
  readonly folder: string;
  /** Ends the server and removes its folder. */
  stop(): Promise<void>;
}

const debianFolder = '/usr/lib/postgresql';
const startAttempts = 300;

/** The folder of PostgreSQL's own programs; null where they are not installed. */
export function findPostgresqlPrograms(): string | null {
  const debian = existsSync(debianFolder)
    ? readdirSync(debianFolder)
        .sort((a, b) => Number(b) - Number(a))
        .map((version) => join(debianFolder, version, 'bin'))
    : [];
  const folders = [...debian, ...(process.env.PATH ?? '').split(':')];
  return folders.find((folder) => existsSync(join(folder, 'initdb'))) ?? null;
}

/** PostgreSQL refuses to run as root; Debian's package brings a user for it. */
function asItsUser(program: string, options: readonly string[]): [string, string[]] {
  return process.getuid?.() === 0
    ? ['runuser', ['-u', 'postgres', '--', program, ...options]]
    : [program, [...options]];
}

/** A port of this machine that nothing listens at now. */
export async function freePort(): Promise<number> {
  const server = createServer();
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as { port: number };
  await new Promise((resolve) => server.close(resolve));
  return port;
}

/**
 * Starts a server on a free port of this machine.
 *
 * @param settings further settings, e.g. `fsync=off` where nothing has to outlast a power cut
 * @throws Error where PostgreSQL's programs are missing or it does not start
 */
export async function startTemporaryCluster(settings: readonly string[]): Promise<TemporaryCluster> {
  const programs = findPostgresqlPrograms();
  if (programs === null) throw new Error("PostgreSQL's programs are not installed.");
  const folder = mkdtempSync(join(tmpdir(), 'gemel-postgresql-'));
  if (process.getuid?.() === 0) {
    const id = (flag: string) => Number(execFileSync('id', [flag, 'postgres'], { encoding: 'utf8' }));
    chownSync(folder, id('-u'), id('-g'));
  }
  const data = join(folder, 'data');
  const [initdb, initOptions] = asItsUser(join(programs, 'initdb'), [
    ...['-D', data, '-U', 'gemel', '-A', 'trust', '-E', 'UTF8', '--locale=C', '--no-sync'],
  ]);
  execFileSync(initdb, initOptions, { stdio: ['ignore', 'ignore', 'inherit'], cwd: folder });
  const port = await freePort();
  const all = [
    'listen_addresses=127.0.0.1',
    `port=${port}`,
    `unix_socket_directories=${folder}`,
    ...settings,
  ];
  const [postgres, options] = asItsUser(join(programs, 'postgres'), [
    ...['-D', data],
    ...all.flatMap((setting) => ['-c', setting]),
  ]);
  const child = spawn(postgres, options, { stdio: 'ignore', cwd: folder });
  const ended = new Promise<void>((resolve) => child.once('exit', () => resolve()));
  const stop = async () => {
    askToEnd(child, data);
    await ended;
    rmSync(folder, { recursive: true, force: true });
  };
  const [ready, readyOptions] = [join(programs, 'pg_isready'), ['-q', '-h', '127.0.0.1', '-p', `${port}`]];
  for (let attempt = 0; attempt < startAttempts; attempt++) {
    if (child.exitCode !== null)
      throw new Error(`PostgreSQL did not start: it ended with ${child.exitCode}.`);
    try {
      execFileSync(ready, readyOptions, { stdio: 'ignore' });
      return { folder, stop, url: (database) => `postgresql://gemel@127.0.0.1:${port}/${database}` };
    } catch {
      await delay(50);
    }
  }
  await stop();
  throw new Error('PostgreSQL did not answer within 15 s.');
}

/** Signals the server process itself, not its wrapper, to end at once. */
function askToEnd(child: ChildProcess, data: string): void {
  const pid = existsSync(join(data, 'postmaster.pid'))
    ? Number(execFileSync('head', ['-n', '1', join(data, 'postmaster.pid')], { encoding: 'utf8' }))
    : null;
  try {
    if (pid === null) child.kill('SIGTERM');
    else process.kill(pid, 'SIGINT');
  } catch {
    // It has ended already.
  }
}
