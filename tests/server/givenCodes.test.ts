import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { generalCautions } from '../../server/contract/cautions.ts';
import { contractModules } from '../../server/openapi/components.ts';
import { projectRoot } from '../../server/projectRoot.ts';

/** The text of everything that can give a code: all of fitting/ and server/ but the contract and the client. */
function givingText(): string {
  return ['fitting', 'server']
    .flatMap((folder) =>
      readdirSync(join(projectRoot, folder), { recursive: true, encoding: 'utf8' })
        .filter((path) => path.endsWith('.ts') && !/^(contract|store\/client)\//.test(path))
        .map((path) => readFileSync(join(projectRoot, folder, path), 'utf8')),
    )
    .join('\n');
}

/** Codes of the enumerations in a schema's `reason`, `code` and `flags`, and of exported reasons, by where they stand. */
function codesOf(name: string, schema: unknown): [where: string, codes: readonly string[]][] {
  if (schema instanceof z.ZodEnum)
    return /reason|warning|flag|caution|code$/i.test(name) ? [[name, schema.options.map(String)]] : [];
  if (schema instanceof z.ZodNullable || schema instanceof z.ZodOptional || schema instanceof z.ZodDefault)
    return codesOf(name, schema.unwrap());
  if (schema instanceof z.ZodArray) return codesOf(name, schema.element);
  if (schema instanceof z.ZodObject)
    return Object.entries(schema.shape).flatMap(([key, inner]) => codesOf(`${name}.${key}`, inner));
  return [];
}

describe('every code of the contract that tells a reason, a warning or a caution', () => {
  it('is given somewhere: none is described that nobody can meet', () => {
    // The general cautions are given together, by the name of their list.
    const text = [givingText(), ...generalCautions.map((code) => `'${code}'`)].join('\n');
    const found = Object.entries(contractModules).flatMap(([module, exported]) =>
      Object.entries(exported).flatMap(([name, schema]) => codesOf(`${module}.${name}`, schema)),
    );
    expect(found.length).toBeGreaterThan(20);
    const never = found.flatMap(([where, codes]) =>
      codes.filter((code) => !text.includes(`'${code}'`)).map((code) => `${where}: ${code}`),
    );
    expect([...new Set(never)]).toEqual([]);
  });
});
