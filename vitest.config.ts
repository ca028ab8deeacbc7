import { defineConfig } from 'vitest/config';

// Two cores: the browser and bench rooms run apart from the rest, so that nothing is timed beside a browser.
export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts', 'tests/**/*.test.tsx'],
    exclude: ['tests/bench/**', 'node_modules/**'],
    pool: 'forks',
    maxWorkers: 2,
    testTimeout: 60_000,
    hookTimeout: 120_000,
    globalSetup: ['tests/support/globalSetup.ts'],
  },
});
