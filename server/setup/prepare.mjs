// Brings a fresh checkout to the state in which it runs, and does nothing where that is so already. Plain JavaScript
// without dependencies, because it runs before anything is installed.
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

export const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const stamps = join(root, 'node_modules', '.gemel');

const needed = [20, 19];

/** Ends with a sentence where Node is older than the packages can run on. */
function checkNode() {
  const [major, minor] = process.versions.node.split('.').map(Number);
  if (major > needed[0] || (major === needed[0] && minor >= needed[1])) return;
  console.error(`Node ${needed.join('.')} or newer is needed; this is ${process.versions.node}.`);
  process.exit(1);
}

/** Runs a program in the project's folder; its output goes to standard error, so that answers stay alone on stdout. */
export function run(command, args, { env = {}, what, quiet = false } = {}) {
  if (what) console.error(what);
  const result = spawnSync(command, args, {
    cwd: root,
    env: { ...process.env, ...env },
    stdio: ['ignore', quiet ? 'pipe' : 2, quiet ? 'pipe' : 2],
    encoding: 'utf8',
    shell: process.platform === 'win32' && command === 'npm',
  });
  if (result.status === 0) return;
  if (quiet) console.error(result.stdout, result.stderr);
  console.error(`${what ?? command} failed${result.error ? `: ${result.error.message}` : ''}.`);
  process.exit(result.status ?? 1);
}

/** A hash of names, sizes and times of the files below `folders` and of the named files. */
function fingerprint(paths, skip) {
  const hash = createHash('sha256');
  const visit = (path) => {
    const info = statSync(join(root, path), { throwIfNoEntry: false });
    if (!info || skip.some((part) => path.startsWith(part))) return;
    if (info.isDirectory()) {
      for (const name of readdirSync(join(root, path)).sort()) visit(`${path}/${name}`);
    } else {
      hash.update(`${path} ${info.size} ${info.mtimeMs}\n`);
    }
  };
  for (const path of paths) visit(path);
  return hash.digest('hex');
}

function contentHash(paths) {
  const hash = createHash('sha256');
  for (const path of paths) hash.update(readFileSync(join(root, path)));
  return hash.digest('hex');
}

/** Does `work` unless the stamp says that it was done for the same state and its result is still there. */
function once(name, state, result, work) {
  const stamp = join(stamps, name);
  if (existsSync(join(root, result)) && existsSync(stamp) && readFileSync(stamp, 'utf8') === state)
    return false;
  work();
  mkdirSync(stamps, { recursive: true });
  writeFileSync(stamp, state);
  return true;
}

/** Whether node_modules holds what the lock file names, by npm's own note of what it installed. */
function isInstalled() {
  const note = join(root, 'node_modules', '.package-lock.json');
  if (!existsSync(note)) return false;
  const wanted = JSON.parse(readFileSync(join(root, 'package-lock.json'), 'utf8')).packages;
  const there = JSON.parse(readFileSync(note, 'utf8')).packages;
  return Object.entries(wanted).every(
    ([path, entry]) => path === '' || entry.optional || there[path]?.version === entry.version,
  );
}

/** Installs the packages of the lock file where they are missing or others. */
export function install() {
  checkNode();
  const state = () => fingerprint(['package-lock.json', 'node_modules/.package-lock.json'], []);
  const stamp = join(stamps, 'installed');
  if (existsSync(stamp) && readFileSync(stamp, 'utf8') === state()) return;
  if (!isInstalled())
    run('npm', ['ci', '--no-audit', '--no-fund'], {
      what: 'Installing the packages (about a minute the first time)…',
    });
  mkdirSync(stamps, { recursive: true });
  writeFileSync(stamp, state());
}

/** Generates the types of the tables from the schema. */
export function generate() {
  once(
    'generated',
    contentHash(['prisma/schema.prisma', 'prisma.config.ts', 'package-lock.json']),
    'server/store/client',
    () =>
      run(process.execPath, ['node_modules/prisma/build/index.js', 'generate'], {
        what: 'Generating the types of the tables…',
        quiet: true,
        // The generator looks for a migration engine that it would download; it does not run it. Any program serves.
        env: { PRISMA_SCHEMA_ENGINE_BINARY: process.execPath, CHECKPOINT_DISABLE: '1' },
      }),
  );
}

/** Bundles service and commands into dist/. */
export function buildServer() {
  const state = fingerprint(['fitting', 'server', 'seed', 'package-lock.json'], []);
  once('server', state, 'dist/server/commands/main.js', () =>
    run(process.execPath, ['server/setup/bundle.mjs'], { what: 'Building the service…' }),
  );
}

/** Bundles the pages into web/dist/. */
export function buildPages() {
  const state = fingerprint(['web', 'server/contract', 'package-lock.json'], ['web/dist', 'web/screenshots']);
  once('pages', state, 'web/dist/index.html', () =>
    run(
      process.execPath,
      ['node_modules/vite/bin/vite.js', 'build', '--config', 'web/vite.config.ts', '--logLevel', 'warn'],
      {
        what: 'Building the pages…',
      },
    ),
  );
}

/** Everything that a run needs. */
export function prepare() {
  install();
  generate();
  buildServer();
  buildPages();
}
