import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseSync } from 'vite';

const root = fileURLToPath(new URL('../../', import.meta.url));

/** A sentence as the source of the service has it, its places numbered: `There is no {{1}} {{2}}.` */
export interface ServiceSentence {
  readonly text: string;
  readonly file: string;
  /** The code that stands beside it in an answer, where there is one. */
  readonly code: string | null;
}

/**
 * Rooms whose sentences no page shows: commands, files that leave the service, refusals of files (which the pages say by
 * their code), what only programs are answered, and what keeps the service from starting.
 */
const notOnPages = new RegExp(
  `^(${[
    'commands',
    'setup',
    'export/(?!circuitModel)',
    'import',
    'openapi',
    'access',
    'config\\.ts',
    'main\\.ts',
    'routes/(idempotency|liveRecords|liveStackLogs|mount)',
    'use-cases/(database|imports/(\\w*[Ll]ive|import(File|Record|Table|StackLog)|readContent|wholeCells))',
    'store/(backup|migrations|sqlite|postgres|storedJson)',
  ].join('|')})`,
);
/** Modules in which every text of two words is a sentence for a reader. */
const allText = /^assess\/(charge-log\/(logVerdict|computeLikeLog)|pulse\/pulseWarnings)\.ts$/;
/** What the simulation of a charge refuses is said with the study. */
const simulation =
  /^(efficiency|temperatureZones|supply|ratioStage|chargeController|chargeSetup|cellModel)\.ts$/;

interface Node {
  readonly type: string;
  readonly [key: string]: unknown;
}

/** Every sentence that the service may say on a page, read off its source. */
export function serviceSentences(): ServiceSentence[] {
  const found = new Map<string, ServiceSentence>();
  const gather = (folder: string, isWanted: (name: string) => boolean, own: boolean) => {
    for (const name of readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })) {
      const path = name.replaceAll('\\', '/');
      if (!path.endsWith('.ts') || !isWanted(path)) continue;
      const source = readFileSync(join(root, folder, name), 'utf8');
      const add = (text: string, code: string | null) => {
        const numbered = withNumbers(text);
        if (/[A-Za-z]{2,}/.test(numbered.replace(/\{\{\d+\}\}/g, '')))
          found.set(numbered, { text: numbered, file: `${folder}/${path}`, code });
      };
      const whole = own && allText.test(path);
      walk(parseSync(path, source, { lang: 'ts' }).program as unknown as Node, { add, whole, own });
    }
  };
  gather('server', (path) => !notOnPages.test(path), true);
  gather('fitting/charging', (path) => simulation.test(path), false);
  return [...found.values()];
}

interface Walk {
  readonly add: (text: string, code: string | null) => void;
  /** Take every text of two words. */
  readonly whole: boolean;
  /** Source of the service; else of the fitting, whose refusals are errors of range. */
  readonly own: boolean;
}

function walk(node: unknown, how: Walk): void {
  if (Array.isArray(node)) {
    for (const one of node) walk(one, how);
    return;
  }
  if (typeof node !== 'object' || node === null) return;
  const here = node as Node;
  if (here.type === 'ImportDeclaration' || here.type === 'TSLiteralType') return;
  const calls = here.arguments as readonly Node[] | undefined;
  if (here.type === 'NewExpression') {
    const name = (here.callee as Node).name;
    if (how.own ? name === 'Refusal' : name === 'RangeError')
      for (const text of textsOf(calls?.[how.own ? 1 : 0])) how.add(text, null);
  }
  if (here.type === 'CallExpression' && how.own) {
    const name = (here.callee as Node).name;
    const places = name === 'fieldError' ? [2, 3] : name === 'notFound' ? [0] : [];
    for (const place of places) for (const text of textsOf(calls?.[place])) how.add(text, null);
  }
  if (here.type === 'ObjectExpression' && how.own) takeProperties(here, how);
  if (how.whole && (here.type === 'Literal' || here.type === 'TemplateLiteral'))
    for (const text of textsOf(here)) if (/[a-z]{2,} [a-z]/i.test(text)) how.add(text, null);
  for (const key of Object.keys(here)) walk(here[key], how);
}

/** `message`, `reason` and `expected` of an answer; a single word there is a code. */
function takeProperties(node: Node, { add }: Walk): void {
  const properties = (node.properties as readonly Node[]).filter((one) => one.type === 'Property');
  const named = (name: string) =>
    properties.find((one) => (one.key as Node).name === name)?.value as Node | undefined;
  const [code] = textsOf(named('code'));
  for (const name of ['message', 'reason', 'expected'])
    for (const text of textsOf(named(name))) if (/[a-z] /i.test(text)) add(text, code ?? null);
}

/** The texts that an expression may be, with `{{}}` for what is put into them. */
function textsOf(node: Node | undefined): string[] {
  if (node === undefined) return [];
  switch (node.type) {
    case 'Literal':
      return typeof node.value === 'string' ? [node.value] : [];
    case 'TemplateLiteral':
      return [
        (node.quasis as readonly { value: { cooked: string } }[]).map((q) => q.value.cooked).join('{{}}'),
      ];
    case 'ConditionalExpression':
      return [...textsOf(node.consequent as Node), ...textsOf(node.alternate as Node)];
    case 'LogicalExpression':
      return [...textsOf(node.left as Node), ...textsOf(node.right as Node)];
    case 'BinaryExpression':
      return textsOf(node.left as Node).flatMap((left) =>
        textsOf(node.right as Node).map((right) => left + right),
      );
    default:
      return [];
  }
}

function withNumbers(text: string): string {
  let place = 0;
  return text.replace(/\{\{\}\}/g, () => `{{${++place}}}`);
}
