import pino, { type Logger } from 'pino';
import { localActor } from './access/identify.ts';
import type { Config } from './config.ts';
import type { Context } from './context.ts';
import { openStore } from './store/store.ts';
import { systemRandom } from './systemRandom.ts';
import { addDefaultChemistries } from './use-cases/register/addDefaultChemistries.ts';

/** The parts that a service, a command and the demonstration share. */
export interface Service {
  readonly base: Omit<Context, 'actor'>;
  readonly log: Logger;
  close(): Promise<void>;
}

/** Opens the store and gathers clock and random source; nothing listens yet. */
export async function openService(config: Config): Promise<Service> {
  const log = pino({ level: config.log, base: null }, pino.destination(2));
  const store = await openStore(config.database);
  const base = { store, now: () => new Date(), random: systemRandom };
  await addDefaultChemistries({ ...base, actor: localActor });
  return {
    base,
    log,
    close: async () => store.close(),
  };
}
