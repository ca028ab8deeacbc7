#!/usr/bin/env node
import { registerBackup } from './backup.ts';
import { registerExport } from './export.ts';
import { registerLot } from './lot.ts';
import { createProgram, runProgram } from './program.ts';
import { registerServe } from './serve.ts';
import { registerToken } from './token.ts';

const program = createProgram();
registerLot(program);
registerExport(program);
registerBackup(program);
registerToken(program);
registerServe(program);

process.exitCode = await runProgram(program, process.argv.slice(2));
