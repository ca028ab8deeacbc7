import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { fileSamples, sampleText } from '../../server/contract/fileSamples.ts';
import { previewImport } from '../../server/use-cases/imports/previewImport.ts';
import { makeLot } from '../support/basics.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

describe('the sample files of the import page', () => {
  let test: TestApp;
  let lot: string;
  beforeAll(async () => {
    test = await openTestApp();
    lot = (await makeLot(test.context)).lot.name;
  });
  afterAll(() => test.close());

  const preview = (text: string, name: string) =>
    previewImport(test.context, name, Buffer.from(text), true, { lot, cell: 'S-001' });

  it.each(fileSamples)('$fileName is read without an option, with every column used', async (sample) => {
    const answer = await preview(sampleText(sample), sample.fileName);
    expect(answer.refusal).toBeNull();
    expect(answer.kind).toBe(sample.kind);
    expect(answer.unusedColumns).toEqual([]);
    expect(answer.creates.cells).toContain('S-001');
  });

  const others = fileSamples.flatMap((sample) =>
    sample.columns.flatMap((column) =>
      column.also.map((also) => ({ sample, column, also, file: sample.fileName })),
    ),
  );
  it.each(others)('$file is read with the header "$also" as well', async ({ sample, column, also }) => {
    const columns = sample.columns.map((c) => (c === column ? { ...c, header: also } : c));
    const answer = await preview(sampleText({ ...sample, columns }), sample.fileName);
    const usual = await preview(sampleText(sample), sample.fileName);
    expect(answer.unusedColumns).toEqual([]);
    expect(answer.kind).toBe(sample.kind);
    expect(answer.mapping.map(({ role }) => role)).toEqual(usual.mapping.map(({ role }) => role));
  });
});
