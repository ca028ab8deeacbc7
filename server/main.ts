import type { AddressInfo } from 'node:net';
import { createApp } from './app.ts';
import { readConfig } from './config.ts';
import { startJobRunner } from './jobs/runner.ts';
import { openService } from './openService.ts';

/** Starts the service and returns its address and how to stop it. */
export async function serve(config = readConfig()): Promise<{ address: string; stop: () => Promise<void> }> {
  const service = await openService(config);
  const runner = startJobRunner({ store: service.base.store, log: service.log, workers: config.workers });
  const app = createApp({ config, base: service.base, log: service.log });
  const server = await new Promise<ReturnType<typeof app.listen>>((resolve, reject) => {
    const listening = app.listen(config.port, config.host, (error?: Error) =>
      error ? reject(error) : resolve(listening),
    );
  });
  const { port } = server.address() as AddressInfo;
  return {
    address: `http://${config.host === '::1' ? '[::1]' : config.host}:${port}`,
    stop: async () => {
      server.closeAllConnections();
      await new Promise((resolve) => server.close(resolve));
      await runner.close();
      await service.close();
    },
  };
}
