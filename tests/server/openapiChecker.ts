import { Ajv2020, type ValidateFunction } from 'ajv/dist/2020.js';
import addFormats from 'ajv-formats';
import type { Response } from 'supertest';
import { openApiDocument } from '../../server/openapi/document.ts';
import type { Route } from '../../server/routes/route.ts';

type Operation = {
  requestBody?: { content: Record<string, unknown> };
  responses: Record<string, { content?: Record<string, unknown> }>;
};

/** Holds requests and answers against the description of the service, which here forbids fields it does not know. */
export class OpenApiChecker {
  private readonly ajv = new Ajv2020({ strict: false, allErrors: true, validateFormats: true });
  private readonly paths: Record<string, Record<string, Operation>>;
  private readonly compiled = new Map<string, ValidateFunction>();

  constructor(routes: readonly Route[]) {
    addFormats.default(this.ajv);
    const document = JSON.parse(JSON.stringify(openApiDocument(routes, true)));
    this.paths = document.paths;
    this.ajv.addSchema(document, 'description');
  }

  /** Everything in which an answer deviates from what the operation describes. */
  checkAnswer(method: string, path: string, answer: Response): string[] {
    const { responses } = this.operation(method, path);
    const status = String(answer.status);
    const described = responses[status];
    if (described === undefined) return [`status ${status} is not described`];
    const mediaType = (answer.headers['content-type'] ?? '').split(';')[0];
    if (described.content === undefined)
      return mediaType === '' ? [] : [`a body of ${mediaType} where none is described`];
    const key = Object.keys(described.content).find((type) => matches(type, mediaType));
    if (key === undefined) return [`media type ${mediaType} is not described for ${status}`];
    if (!/json$/.test(mediaType)) return [];
    return this.errors(['paths', path, method, 'responses', status, 'content', key, 'schema'], answer.body);
  }

  /** Everything in which a JSON request deviates from the description. */
  checkBody(method: string, path: string, body: unknown): string[] {
    const { requestBody } = this.operation(method, path);
    if (requestBody === undefined) return body === undefined ? [] : ['a body where none is described'];
    if (requestBody.content['application/json'] === undefined) return [];
    return this.errors(
      ['paths', path, method, 'requestBody', 'content', 'application/json', 'schema'],
      body ?? {},
    );
  }

  private operation(method: string, path: string): Operation {
    const operation = this.paths[path]?.[method];
    if (operation === undefined) throw new Error(`${method} ${path} is not described`);
    return operation;
  }

  private errors(place: readonly string[], value: unknown): string[] {
    const pointer = `description#/${place.map((p) => encodeURIComponent(p.replaceAll('~', '~0').replaceAll('/', '~1'))).join('/')}`;
    let validate = this.compiled.get(pointer);
    if (validate === undefined) {
      validate = this.ajv.compile({ $ref: pointer });
      this.compiled.set(pointer, validate);
    }
    if (validate(value)) return [];
    return (validate.errors ?? []).map(
      (error) => `${error.instancePath} ${error.message} ${JSON.stringify(error.params)}`,
    );
  }
}

function matches(described: string, mediaType: string): boolean {
  if (described === 'application/octet-stream' || described === mediaType) return true;
  return described.endsWith('/*') && mediaType.startsWith(described.slice(0, -1));
}
