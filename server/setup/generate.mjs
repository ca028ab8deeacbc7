import { generate, install } from './prepare.mjs';

install();
generate();
