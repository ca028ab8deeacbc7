import { Agent, request } from 'node:http';
import { setTimeout as delay } from 'node:timers/promises';
import { liveBatchOutcomes } from '../../../server/contract/liveRecords.ts';

/** Samples of one channel in one batch: 10 a second, a batch each second. */
export const samplesOfBatch = 10;

/** Every tester has a connection of its own. */
const agent = new Agent({ keepAlive: true });
const attempts = 3;

/** Row `i` of a channel: time, voltage, current, as a tester writes them. */
export function sampleOf(channel: number, i: number): readonly [number, number, number] {
  const noise = (Math.imul(i + channel * 977, 2654435761) >>> 8) / 16777216;
  const currentA = Math.floor(i / 600) % 2 === 0 ? 1 : -1;
  return [i / 10, Number((3.7 + 0.1 * Math.sin(i / 900 + channel) + noise / 2000).toFixed(4)), currentA];
}

export interface LiveTimes {
  /** From the moment a batch was due until it was acknowledged, in ms. */
  readonly acknowledgedMs: number[];
  /** Small reads meanwhile, in ms. */
  readonly readMs: number[];
  refused: number;
  /** Time from the first batch that was due to the last acknowledgement, in s. */
  elapsedS: number;
}

/**
 * Sends the batches of all channels, each a second after the one before, spread evenly over the second.
 *
 * @param together channels of one tester, whose batches go into one request; 1: a request each
 */
export async function feedChannels(
  address: string,
  tests: readonly number[],
  seconds: number,
  together: number,
): Promise<LiveTimes> {
  const times: LiveTimes = { acknowledgedMs: [], readMs: [], refused: 0, elapsedS: 0 };
  const start = performance.now() + 200;
  let over = false;
  const reading = (async () => {
    while (!over) {
      times.readMs.push(await smallRead(address));
      await delay(100);
    }
  })();
  const testers = Array.from({ length: Math.ceil(tests.length / together) }, (_, tester) =>
    tests.map((testId, channel) => ({ testId, channel })).slice(tester * together, (tester + 1) * together),
  );
  await Promise.all(
    testers.map(async (channels, tester) => {
      for (let batch = 0; batch < seconds; batch++) {
        const dueMs = start + 1000 * (batch + tester / testers.length);
        const waitMs = dueMs - performance.now();
        if (waitMs > 0) await delay(waitMs);
        const stored = await sendBatches(address, channels, batch);
        const tookMs = performance.now() - dueMs;
        for (let i = 0; i < stored; i++) times.acknowledgedMs.push(tookMs);
        times.refused += channels.length - stored;
      }
    }),
  );
  times.elapsedS = (performance.now() - start) / 1000;
  over = true;
  await reading;
  return times;
}

/** Sends a batch of each of some channels; how many were acknowledged. */
async function sendBatches(
  address: string,
  channels: readonly { testId: number; channel: number }[],
  batch: number,
): Promise<number> {
  const first = batch * samplesOfBatch;
  const key = `b${batch}`;
  const batches = channels.map(({ testId, channel }) => {
    const rows = Array.from({ length: samplesOfBatch }, (_, i) => sampleOf(channel, first + i));
    return {
      testId,
      key,
      firstRow: first,
      timeS: rows.map(([timeS]) => timeS),
      voltageV: rows.map(([, voltageV]) => voltageV),
      currentA: rows.map(([, , currentA]) => currentA),
    };
  });
  if (batches.length === 1) {
    const [{ testId, key: _key, ...samples }] = batches;
    const { status } = await send(`${address}/api/v1/tests/${testId}/samples`, samples, key);
    return status === 200 ? 1 : 0;
  }
  const { status, text } = await send(`${address}/api/v1/live-samples`, { batches });
  if (status !== 200) return 0;
  return liveBatchOutcomes.parse(JSON.parse(text)).batches.filter(({ outcome }) => outcome === 'stored')
    .length;
}

/** Time of a small read, in ms. */
export async function smallRead(address: string): Promise<number> {
  const start = performance.now();
  const { status } = await send(`${address}/api/v1/cells/1`);
  if (status !== 200) throw new Error(`The small read was answered with ${status}.`);
  return performance.now() - start;
}

/** Sends a request, and again where its connection was closed before it was answered: each batch has a key. */
async function send(url: string, body?: unknown, key?: string): Promise<{ status: number; text: string }> {
  for (let attempt = 1; ; attempt++) {
    try {
      return await sendOnce(url, body, key);
    } catch (error) {
      if (attempt === attempts) throw error;
    }
  }
}

function sendOnce(url: string, body?: unknown, key?: string): Promise<{ status: number; text: string }> {
  const text = body === undefined ? undefined : JSON.stringify(body);
  return new Promise((resolve, reject) => {
    const asked = request(
      url,
      {
        agent,
        method: text === undefined ? 'GET' : 'POST',
        headers: {
          ...(text === undefined
            ? {}
            : { 'Content-Type': 'application/json', 'Content-Length': Buffer.byteLength(text) }),
          ...(key === undefined ? {} : { 'Idempotency-Key': key }),
        },
      },
      (response) => {
        const pieces: Buffer[] = [];
        response.on('data', (piece) => pieces.push(piece));
        response.on('end', () =>
          resolve({ status: response.statusCode ?? 0, text: Buffer.concat(pieces).toString() }),
        );
      },
    );
    asked.on('error', reject);
    asked.end(text);
  });
}

/** The value below which a share of the values lies. */
export function quantile(values: readonly number[], share: number): number {
  return [...values].sort((a, b) => a - b)[Math.floor(share * (values.length - 1))];
}
