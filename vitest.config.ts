import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts', 'tests/**/*.test.tsx'],
    exclude: ['tests/bench/**', 'node_modules/**'],
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
    globalSetup: ['tests/support/globalSetup.ts'],
  },
});
