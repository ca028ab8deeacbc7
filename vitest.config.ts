import { defineConfig } from 'vitest/config';
import { findPostgresqlPrograms } from './server/setup/temporaryCluster.ts';
import { postgresqlTests } from './tests/support/postgresqlTests.ts';
import { isMissing } from './tests/support/required.ts';

const withoutPostgresql = isMissing(
  'PostgreSQL',
  findPostgresqlPrograms() !== null,
  'apt-get install postgresql',
);

export default defineConfig({
  test: {
    pool: 'forks',
    maxWorkers: 2,
    // Browser tests walk through every page; on two shared cores that takes its time.
    testTimeout: 180_000,
    hookTimeout: 120_000,
    setupFiles: ['tests/support/propertySeed.ts'],
    coverage: {
      provider: 'v8',
      include: ['fitting/**/*.ts', 'server/**/*.ts', 'web/src/**/*.{ts,tsx}'],
      exclude: ['server/store/client/**', 'server/setup/**'],
      reporter: ['text-summary', 'html'],
      reportsDirectory: 'coverage',
    },
    projects: [
      {
        extends: true,
        test: {
          name: 'all',
          include: ['tests/**/*.test.ts', 'tests/**/*.test.tsx'],
          exclude: ['tests/bench/**', 'tests/server/postgresql/**', 'node_modules/**'],
          // Loading the whole service again for each file would take longer than its tests.
          isolate: false,
          globalSetup: ['tests/support/globalSetup.ts'],
        },
      },
      // What touches the store runs a second time, on a PostgreSQL server of its own.
      ...(withoutPostgresql
        ? []
        : [
            {
              extends: true as const,
              test: {
                name: 'postgresql',
                include: postgresqlTests,
                // Loading the whole service for each file would take longer than its tests.
                isolate: false,
                env: { GEMEL_TEST_ON: 'postgresql' },
                globalSetup: ['tests/support/postgresqlSetup.ts'],
              },
            },
          ]),
    ],
  },
});
