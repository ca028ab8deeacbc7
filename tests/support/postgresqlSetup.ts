import { startTemporaryCluster } from '../../server/setup/temporaryCluster.ts';
import { openStore } from '../../server/store/store.ts';
import { onServer, templateName } from './testDatabase.ts';

/** Starts a PostgreSQL server for the tests and ends it after them. Nothing in it has to outlast a power cut. */
export default async function setup(): Promise<() => Promise<void>> {
  const cluster = await startTemporaryCluster([
    'fsync=off',
    'synchronous_commit=off',
    'full_page_writes=off',
    'max_connections=300',
  ]);
  process.env.GEMEL_TEST_CLUSTER = cluster.url('').replace(/\/$/, '');
  await onServer(`CREATE DATABASE ${templateName}`);
  const store = await openStore({
    kind: 'postgresql',
    url: cluster.url(templateName),
    folder: cluster.folder,
  });
  await store.close();
  return cluster.stop;
}
