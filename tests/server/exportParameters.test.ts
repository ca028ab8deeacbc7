import { Ajv2020 } from 'ajv/dist/2020.js';
import addFormats from 'ajv-formats';
import { describe, expect, it } from 'vitest';
import { parameterSet } from '../../server/contract/parameterSet.ts';
import { ucumUnits } from '../../server/contract/ucum.ts';
import { parameterSetSchema } from '../../server/export/parameterSetSchema.ts';
import { parametersJson } from '../../server/export/parametersJson.ts';
import { hostileName, stackFixture } from './exportFixture.ts';
import { ucumCodeIsValid } from './ucum.ts';

function validator() {
  const ajv = new Ajv2020({ allErrors: true, strict: true });
  addFormats.default(ajv);
  return ajv.compile(parameterSetSchema());
}

describe('the parameter set as JSON', () => {
  it('keeps to its published JSON Schema 2020-12, as judged by Ajv', () => {
    const validate = validator();
    expect(validate(JSON.parse(parametersJson(stackFixture()))), JSON.stringify(validate.errors)).toBe(true);
  });

  it('publishes a schema that refuses a number without unit, a missing number without reason and a wrong version', () => {
    const validate = validator();
    const document = () => JSON.parse(parametersJson(stackFixture()));
    const noUnit = document();
    delete noUnit.cells[0].capacity.unit;
    const noReason = document();
    noReason.cells[0].measurements[1].result.reason = null;
    const wrongVersion = { ...document(), schemaVersion: 2 };
    const wrongUnit = document();
    wrongUnit.cells[0].circuits[0].rows[0].r0.unit = 'ohm';
    for (const wrong of [noUnit, noReason, wrongVersion, wrongUnit]) expect(validate(wrong)).toBe(false);
  });

  it('keeps to an older copy of the schema when fields were added to the document', () => {
    expect(validator()({ ...JSON.parse(parametersJson(stackFixture())), added: { later: 1 } })).toBe(true);
  });

  it('reads back to the same document, names with quotes, line breaks and other alphabets included', () => {
    const read = parameterSet.parse(JSON.parse(parametersJson(stackFixture())));
    expect(read).toEqual(stackFixture());
    expect(read.cells[0].serial).toBe(hostileName);
  });

  it('gives the same bytes for the same parameters whatever the order in which their keys were put together', () => {
    const set = stackFixture();
    const turned = Object.fromEntries(Object.entries(set).reverse()) as typeof set;
    expect(parametersJson(turned)).toBe(parametersJson(set));
  });

  it('uses unit codes that a general UCUM validator accepts', () => {
    for (const code of ucumUnits) expect(ucumCodeIsValid(code), code).toBe(true);
    expect(ucumCodeIsValid('ohm')).toBe(false);
    expect(ucumCodeIsValid('Ah')).toBe(false);
  });
});
