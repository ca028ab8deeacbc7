import type { OpenApiDocument } from './openApiDocument.ts';

/** A JSON value of the document; it is shown as it stands, not interpreted further. */
type Json = string | number | boolean | null | Json[] | { [key: string]: Json };
type JsonObject = { [key: string]: Json };

const style = `
:root { color-scheme: light dark; --line: #8884; --soft: #8882; }
html { background: light-dark(#fff, #161b22); color: light-dark(#1d2636, #e7e4d8); }
a { color: light-dark(#1f4f86, #9cc4f2); }
body { font: 16px/1.5 system-ui, sans-serif; margin: 0 auto; max-width: 60rem; padding: 1rem; }
h1, h2 { line-height: 1.2; } h2 { margin-top: 2.5rem; }
nav a { margin-right: .75rem; }
details { border: 1px solid var(--line); border-radius: .4rem; margin: .5rem 0; padding: .4rem .75rem; }
summary { cursor: pointer; overflow-wrap: anywhere; }
code, pre { font: .875rem/1.45 ui-monospace, monospace; }
code, td { overflow-wrap: anywhere; }
pre { background: var(--soft); overflow: auto; padding: .75rem; border-radius: .4rem; max-height: 30rem; }
table { border-collapse: collapse; width: 100%; } td, th { border-bottom: 1px solid var(--line); padding: .25rem .5rem; text-align: left; vertical-align: top; }
.method { display: inline-block; min-width: 4rem; font-weight: 600; text-transform: uppercase; }
.intro { white-space: pre-line; }
`;

/** The description as one page of plain HTML: no script, nothing from elsewhere. */
export function docsPage(document: OpenApiDocument): string {
  const whole = JSON.parse(JSON.stringify(document)) as JsonObject;
  const info = object(whole.info);
  const tags = array(whole.tags).map((tag) => text(object(tag).name));
  const schemas = object(object(whole.components).schemas);
  const sections = tags.map((tag) => section(tag, operationsOf(whole, tag)));
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>${htmlText(text(info.title))}: HTTP interface</title><style>${style}</style></head><body>
<header><h1>${htmlText(text(info.title))}: HTTP interface, version ${htmlText(text(info.version))}</h1>
<p class="intro">${htmlText(text(info.description))}</p>
<p><a href="/api/v1/openapi.json">OpenAPI 3.1 document</a> · <a href="/">the pages</a></p>
<nav aria-label="Resources">${tags.map((tag) => `<a href="#${anchor(tag)}">${htmlText(tag)}</a>`).join(' ')} <a href="#schemas">Schemas</a></nav></header>
<main>${sections.join('\n')}
<section id="schemas"><h2>Schemas</h2>${Object.entries(schemas)
    .map(
      ([name, schema]) =>
        `<details id="schema-${htmlText(name)}"><summary>${htmlText(name)}</summary>${shown(schema)}</details>`,
    )
    .join('\n')}</section></main></body></html>
`;
}

interface Operation {
  readonly method: string;
  readonly path: string;
  readonly operation: JsonObject;
}

function operationsOf(document: JsonObject, tag: string): Operation[] {
  return Object.entries(object(document.paths)).flatMap(([path, item]) =>
    Object.entries(object(item))
      .map(([method, operation]) => ({ method, path, operation: object(operation) }))
      .filter(({ operation }) => array(operation.tags).includes(tag)),
  );
}

function section(tag: string, operations: readonly Operation[]): string {
  return `<section id="${anchor(tag)}"><h2>${htmlText(tag)}</h2>${operations.map(operationHtml).join('\n')}</section>`;
}

function operationHtml({ method, path, operation }: Operation): string {
  const parameters = array(operation.parameters).map(object);
  const rows = parameters.map(
    (p) =>
      `<tr><td><code>${htmlText(text(p.name))}</code>${p.required === true ? ' (needed)' : ''}</td><td>${htmlText(text(p.in))}</td><td>${htmlText(text(p.description))} <code>${htmlText(JSON.stringify(p.schema ?? {}))}</code></td></tr>`,
  );
  const table =
    rows.length === 0
      ? ''
      : `<table><thead><tr><th>Parameter</th><th>Place</th><th>Meaning</th></tr></thead><tbody>${rows.join('')}</tbody></table>`;
  const answers = Object.entries(object(operation.responses)).map(
    ([status, response]) =>
      `<tr><td>${htmlText(status)}</td><td>${htmlText(text(object(response).description))} ${contentHtml(object(response).content)}</td></tr>`,
  );
  const body =
    operation.requestBody === undefined
      ? ''
      : `<h3>Body</h3>${contentHtml(object(operation.requestBody).content)}`;
  return `<details id="${htmlText(text(operation.operationId))}"><summary><span class="method">${method}</span> <code>/api/v1${htmlText(path)}</code> ${htmlText(text(operation.summary))}</summary>
<p>${htmlText(text(operation.description))}</p>${table}${body}<h3>Answers</h3><table><tbody>${answers.join('')}</tbody></table></details>`;
}

/** Media types with links to named schemas; a schema without a name is shown whole. */
function contentHtml(content: Json | undefined): string {
  return Object.entries(object(content))
    .map(([mediaType, media]) => {
      const { schema } = object(media);
      const reference = text(object(schema).$ref);
      const name = reference.split('/').pop() ?? '';
      const link =
        name === '' ? shown(schema ?? {}) : `<a href="#schema-${htmlText(name)}">${htmlText(name)}</a>`;
      return `<code>${htmlText(mediaType)}</code> ${link}`;
    })
    .join(' ');
}

function shown(value: Json): string {
  if (typeof value === 'object' && value !== null && Object.keys(value).length === 0) return '';
  const linked = htmlText(JSON.stringify(value, null, 2)).replace(
    /#\/components\/schemas\/(\w+)/g,
    '<a href="#schema-$1">$1</a>',
  );
  return `<pre tabindex="0">${linked}</pre>`;
}

function object(value: Json | undefined): JsonObject {
  return typeof value === 'object' && value !== null && !Array.isArray(value) ? value : {};
}

function array(value: Json | undefined): Json[] {
  return Array.isArray(value) ? value : [];
}

function text(value: Json | undefined): string {
  return typeof value === 'string' ? value : '';
}

function anchor(tag: string): string {
  return `tag-${tag.toLowerCase().replace(/[^a-z0-9]+/g, '-')}`;
}

function htmlText(value: string): string {
  return value.replace(/[&<>"']/g, (c) => `&#${c.charCodeAt(0)};`);
}
