#!/usr/bin/env node
import nodeModule from 'node:module';
import type { Command } from 'commander';
import { createProgram, runProgram } from './program.ts';
import { summaries } from './summaries.ts';

type Register = (program: Command) => void;
type Load = () => Promise<Register>;

/**
 * Which module brings which command. Only the one that is asked for is loaded, because loading the service, the
 * database client and all evaluations takes longer than most file commands run.
 */
const modules: Readonly<Record<keyof typeof summaries, Load | null>> = {
  evaluate: null,
  'evaluate pulse': async () => (await import('./evaluatePulse.ts')).registerEvaluatePulse,
  'evaluate capacity': async () => (await import('./evaluateCapacity.ts')).registerEvaluateCapacity,
  'evaluate impedance': async () => (await import('./evaluateImpedance.ts')).registerEvaluateImpedance,
  'evaluate ageing': async () => (await import('./evaluateAgeing.ts')).registerEvaluateAgeing,
  'evaluate converter': async () => (await import('./evaluateConverter.ts')).registerEvaluateConverter,
  'evaluate charge': async () => (await import('./evaluateCharge.ts')).registerEvaluateCharge,
  pair: async () => (await import('./pair.ts')).registerPair,
  charge: async () => (await import('./charge.ts')).registerCharge,
  import: async () => (await import('./import.ts')).registerImport,
  'column-map': async () => (await import('./columnMap.ts')).registerColumnMap,
  watch: async () => (await import('./watch.ts')).registerWatch,
  'cell-type': async () => (await import('./cellType.ts')).registerCellType,
  lot: async () => (await import('./lot.ts')).registerLot,
  export: async () => (await import('./export.ts')).registerExport,
  backup: async () => (await import('./backup.ts')).registerBackup,
  restore: async () => (await import('./backup.ts')).registerRestore,
  move: async () => (await import('./move.ts')).registerMove,
  token: async () => (await import('./token.ts')).registerToken,
  work: async () => (await import('./serve.ts')).registerWork,
  serve: async () => (await import('./serve.ts')).registerServe,
};

/** Adds every command below `path`: the wanted one whole, the others by name and summary. */
async function addCommands(parent: Command, path: string, wanted: readonly string[]): Promise<void> {
  for (const name of Object.keys(modules) as (keyof typeof modules)[]) {
    const word = name.slice(path.length);
    if (!name.startsWith(path) || word.includes(' ')) continue;
    const load = modules[name];
    if (load !== null && word === wanted[0]) (await load())(parent);
    else {
      const command = parent.command(word).description(summaries[name]);
      if (load === null) await addCommands(command, `${name} `, word === wanted[0] ? wanted.slice(1) : []);
    }
  }
}

// Node 22.1 and newer keep compiled code between runs.
(nodeModule as { enableCompileCache?: () => void }).enableCompileCache?.();

const argv = process.argv.slice(2);
const program = createProgram();
const words = argv.filter((argument) => !argument.startsWith('-'));
await addCommands(program, '', words[0] === 'help' ? words.slice(1) : words);

process.exitCode = await runProgram(program, argv);
