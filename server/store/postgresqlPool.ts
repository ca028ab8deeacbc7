import pg from 'pg';
import { readServerConnection } from './postgresqlAddress.ts';

/**
 * Connections to the server of an address.
 *
 * @throws Refusal where address or PG* variables cannot be used
 */
export function makePool(url: string, settings: Omit<pg.PoolConfig, 'connectionString'>): pg.Pool {
  const pool = new pg.Pool({ ...readServerConnection(url), application_name: 'gemel', ...settings });
  // A connection that ends fails what is sent over it, and is replaced. Nobody else needs to hear of it: an event without
  // a listener, in the moments in which a connection is nobody's, would end the process.
  pool.on('connect', (client) => client.on('error', () => {}));
  pool.on('error', () => {});
  return pool;
}
