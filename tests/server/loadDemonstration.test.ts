import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { loadDemonstration } from '../../seed/loadDemonstration.ts';
import { readConfig } from '../../server/config.ts';
import type { Context } from '../../server/context.ts';
import { openStore } from '../../server/store/store.ts';
import { makeLot } from '../support/basics.ts';
import { selectAll } from '../support/sql.ts';

describe('the demonstration', () => {
  let folder: string;
  const printed: string[] = [];
  const load = async (runJob: (context: Context) => Promise<void>) =>
    loadDemonstration((line) => printed.push(line), { config: readConfig({ GEMEL_DATA: folder }), runJob });
  const lots = async () => {
    const store = await openStore(join(folder, 'gemel.sqlite'));
    const names = (await selectAll<{ name: string }>(store, 'SELECT name FROM Lot')).map(({ name }) => name);
    await store.close();
    return names;
  };
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'gemel-load-'));
    printed.length = 0;
  });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));

  it('that is cut short leaves an empty database, and begins again the next time', async () => {
    const dying = async (context: Context) => {
      await makeLot(context, { lot: 'half' });
      throw new Error('the power went');
    };
    await expect(load(dying)).rejects.toThrow('the power went');
    expect(await lots()).toEqual([]);
    await load(async (context) => {
      await makeLot(context, { lot: 'whole' });
    });
    expect(await lots()).toEqual(['whole']);
    expect(readdirSync(folder)).toEqual(['gemel.sqlite']);
  });

  it('is not loaded into a database that holds a lot', async () => {
    await load(async (context) => {
      await makeLot(context, { lot: 'own' });
    });
    await load(async () => {
      throw new Error('must not run');
    });
    expect(printed).toEqual(['The database holds a lot already; nothing was loaded.']);
  });
});
