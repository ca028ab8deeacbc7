import { existsSync } from 'node:fs';
import { dirname, extname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** The folder that holds package.json, from the sources as well as from the compiled files under dist/. */
export const projectRoot: string = (() => {
  let folder = dirname(fileURLToPath(import.meta.url));
  while (!existsSync(join(folder, 'package.json'))) {
    const parent = dirname(folder);
    if (parent === folder)
      throw new Error('package.json was not found above the program; the installation is incomplete.');
    folder = parent;
  }
  return folder;
})();

/** Whether this file is part of the build, where a thread starts several times sooner than from the sources. */
export const isBuilt: boolean = extname(fileURLToPath(import.meta.url)) === '.js';
