#!/usr/bin/env node
import type { Command } from 'commander';
import { createProgram, runProgram } from './program.ts';

type Register = (program: Command) => void;

/**
 * Which module brings which command. Only the one that is asked for is loaded, because loading the service, the
 * database client and all evaluations takes longer than most file commands run.
 */
const modules: Readonly<Record<string, () => Promise<Register>>> = {
  evaluate: async () => (await import('./evaluate.ts')).registerEvaluate,
  pair: async () => (await import('./pair.ts')).registerPair,
  charge: async () => (await import('./charge.ts')).registerCharge,
  import: async () => (await import('./import.ts')).registerImport,
  watch: async () => (await import('./watch.ts')).registerWatch,
  'cell-type': async () => (await import('./cellType.ts')).registerCellType,
  lot: async () => (await import('./lot.ts')).registerLot,
  export: async () => (await import('./export.ts')).registerExport,
  backup: async () => (await import('./backup.ts')).registerBackup,
  restore: async () => (await import('./backup.ts')).registerBackup,
  token: async () => (await import('./token.ts')).registerToken,
  serve: async () => (await import('./serve.ts')).registerServe,
};

const argv = process.argv.slice(2);
const program = createProgram();
const wanted = modules[argv.find((argument) => !argument.startsWith('-')) ?? ''];
const registers = await Promise.all((wanted ? [wanted] : Object.values(modules)).map((load) => load()));
for (const register of new Set(registers)) register(program);

process.exitCode = await runProgram(program, argv);
