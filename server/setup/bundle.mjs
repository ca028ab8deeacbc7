// Bundles service, commands and worker into dist/, packages included: the command line opens a handful of files
// instead of two thousand, and loads only what the command at hand needs. With arguments it bundles those sources
// instead, beside the rest: programs that tests start again and again.
import { readdirSync, rmSync, statSync } from 'node:fs';
import { join, relative } from 'node:path';
import { build } from 'vite';
import { root } from './prepare.mjs';

const folder = join(root, 'dist');
/** A service that is still running loads parts of its own build for as long as this, in ms. */
const keptMs = 24 * 3600 * 1000;

const programs = [
  'server/commands/main.ts',
  'server/jobs/worker.ts',
  'server/threads/partWorker.ts',
  'seed/load.ts',
];
const asked = process.argv.slice(2);
const sources = asked.length > 0 ? asked : programs;

const built = await build({
  configFile: false,
  root,
  logLevel: 'warn',
  publicDir: false,
  ssr: {
    target: 'node',
    noExternal: true,
    // Native or WebAssembly, or finding files of their own beside themselves.
    external: [
      'better-sqlite3',
      'chokidar',
      'pg',
      'pg-boss',
      'pino',
      'piscina',
      '@prisma/adapter-better-sqlite3',
      '@prisma/client',
      '@prisma/driver-adapter-utils',
      '@prisma/schema-engine-wasm',
    ],
  },
  build: {
    ssr: true,
    target: 'node20',
    outDir: folder,
    emptyOutDir: false,
    minify: false,
    rolldownOptions: {
      // fitting/ is pure: what an index file exports and nobody here uses is left out, so that a command loads its own part alone.
      treeshake: {
        moduleSideEffects: [
          { test: /[\\/]fitting[\\/]/, sideEffects: false },
          { test: /./, sideEffects: true },
        ],
      },
      input: Object.fromEntries(sources.map((source) => [source.replace(/\.ts$/, ''), join(root, source)])),
      output: { entryFileNames: '[name].js', chunkFileNames: 'chunks/[name]-[hash].js' },
    },
  },
});

if (asked.length > 0) process.exit();

const fresh = new Set([built].flat().flatMap(({ output }) => output.map(({ fileName }) => fileName)));
for (const file of readdirSync(folder, { recursive: true, withFileTypes: true })) {
  const path = join(file.parentPath, file.name);
  if (!file.isFile() || fresh.has(relative(folder, path).replaceAll('\\', '/'))) continue;
  if (Date.now() - statSync(path).mtimeMs > keptMs) rmSync(path);
}
