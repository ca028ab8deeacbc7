import type { OpenApiDocument } from './openApiDocument.ts';

const prefix = '#/components/schemas/';

/**
 * Leaves out the named schemas that no route uses. A schema that occurs in answers only, and so got the ending
 * `Output` to tell it from the form in which it is sent, gets its plain name back.
 */
export function tidyComponents(document: OpenApiDocument): OpenApiDocument {
  const schemas: Record<string, unknown> = { ...document.components?.schemas };
  const used = new Set<string>();
  const visit = (value: unknown): void => {
    for (const [, name] of JSON.stringify(value).matchAll(/"#\/components\/schemas\/([^"]+)"/g)) {
      if (used.has(name)) continue;
      used.add(name);
      visit(schemas[name]);
    }
  };
  visit(document.paths ?? {});
  const nameOf = (name: string): string => {
    const plain = name.replace(/Output$/, '');
    return plain !== name && !used.has(plain) ? plain : name;
  };
  const kept = Object.fromEntries([...used].sort().map((name) => [nameOf(name), schemas[name]] as const));
  const whole = { ...document, components: { ...document.components, schemas: kept } };
  const text = JSON.stringify(whole).replace(
    /"#\/components\/schemas\/([^"]+)"/g,
    (_, name: string) => `"${prefix}${nameOf(name)}"`,
  );
  return JSON.parse(text) as OpenApiDocument;
}
