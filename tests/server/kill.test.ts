import { expect, it } from 'vitest';
import { runKills } from './kill/runKills.ts';

it('after each of 20 sudden ends the database is sound, and holds each file whole or not at all', async () => {
  const summary = await runKills(20, 20);
  expect(summary.kills).toBe(20);
  expect(summary.acknowledgedFiles).toBeGreaterThan(5);
  expect(summary.liveRows).toBeGreaterThan(100);
  // Some end must have struck a job under way, or the test does not show that jobs are taken up again.
  expect(summary.jobsTakenUp).toBeGreaterThan(0);
}, 240_000);
