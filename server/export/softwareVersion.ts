import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { projectRoot } from '../projectRoot.ts';

/** Version of this software, from its package. */
export const softwareVersion: string = (
  JSON.parse(readFileSync(join(projectRoot, 'package.json'), 'utf8')) as { version: string }
).version;
