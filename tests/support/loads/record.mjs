// Preloaded with `node --import`: writes every module that is loaded to the file named in RECORDED_LOADS, a line each.
import { register } from 'node:module';

register('./hooks.mjs', import.meta.url);
