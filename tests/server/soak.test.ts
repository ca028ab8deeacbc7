import { expect, it } from 'vitest';
import { findPostgresqlPrograms } from '../../server/setup/temporaryCluster.ts';
import { isMissing } from '../support/required.ts';
import { type LabKind, runLabSoak, sayLabSoak } from './soak/labs.ts';
import type { SoakSummary } from './soak/runSoak.ts';

const withoutPostgresql = isMissing(
  'PostgreSQL',
  findPostgresqlPrograms() !== null,
  'apt-get install postgresql',
);

/** The long form: npm run soak. */
async function soakShortly(kind: LabKind): Promise<SoakSummary> {
  const summary = await runLabSoak(kind, { clients: 6, kills: 4, seed: 17, longestPauseMs: 1000 });
  expect(summary.wrong, sayLabSoak(kind, summary)).toEqual([]);
  expect(summary.ledger.files.size).toBeGreaterThan(4);
  expect(summary.ledger.pairings.size).toBeGreaterThan(0);
  return summary;
}

it('a service that is killed again and again loses nothing it acknowledged, and does nothing twice', async () => {
  const { troubles } = await soakShortly('sqlite');
  expect(troubles.size, 'some end must have struck a request under way').toBeGreaterThan(0);
}, 240_000);

it.skipIf(withoutPostgresql)(
  'nor do two services and three workers on PostgreSQL, when connections of its server end, too',
  async () => {
    expect((await soakShortly('postgresql')).endedBackends).toBeGreaterThan(0);
  },
  240_000,
);
