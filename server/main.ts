import type { AddressInfo } from 'node:net';
import { createApp } from './app.ts';
import { type Config, readConfig } from './config.ts';
import { fieldError, Refusal } from './errors.ts';
import { startJobRunner } from './jobs/runner.ts';
import { openService } from './openService.ts';
import { refuseDamagedDatabase } from './store/backup.ts';

/** Starts the service and returns its address and how to stop it. */
export async function serve(config = readConfig()): Promise<{ address: string; stop: () => Promise<void> }> {
  if (config.database.kind === 'sqlite') refuseDamagedDatabase(config.database.file);
  const service = await openService(config);
  // Where others run the jobs, this process only answers.
  const runner =
    config.workers === 0
      ? null
      : await startJobRunner({ store: service.base.store, log: service.log, workers: config.workers });
  const app = createApp({ config, base: service.base, log: service.log });
  const close = async () => {
    await runner?.close();
    await service.close();
  };
  const server = await new Promise<ReturnType<typeof app.listen>>((resolve, reject) => {
    const listening = app.listen(config.port, config.host, (error?: Error) =>
      error ? reject(cannotListen(error, config)) : resolve(listening),
    );
  }).catch(async (error: unknown) => {
    await close();
    throw error;
  });
  const { port } = server.address() as AddressInfo;
  return {
    address: `http://${config.host === '::1' ? '[::1]' : config.host}:${port}`,
    stop: async () => {
      server.closeAllConnections();
      await new Promise((resolve) => server.close(resolve));
      await close();
    },
  };
}

/** Runs the jobs of a database without serving, and returns how to stop. */
export async function work(config = readConfig()): Promise<() => Promise<void>> {
  const service = await openService(config);
  const runner = await startJobRunner({
    store: service.base.store,
    log: service.log,
    workers: config.workers,
    receives: false,
  });
  return async () => {
    await runner.close();
    await service.close();
  };
}

function cannotListen(error: NodeJS.ErrnoException, { host, port }: Config): Error {
  const reason = {
    EADDRINUSE: 'another program listens there, perhaps this service itself',
    EACCES: 'this user may not listen there',
    EADDRNOTAVAIL: 'this machine does not have the address',
  }[error.code ?? ''];
  if (reason === undefined) return error;
  return new Refusal('conflict', `The service cannot listen at ${host}, port ${port}.`, [
    fieldError('GEMEL_PORT', port, reason, 'a free port; 0 takes one'),
  ]);
}
