import { runFuzz } from '../../server/fuzz/runFuzz.ts';
import { runKills } from '../../server/kill/runKills.ts';
import { type LabKind, runLabSoak, sayLabSoak } from '../../server/soak/labs.ts';

const fuzzFiles = 100_000;
const kills = 200;
/** Kills of processes and of connections of the database server, while 20 clients work. */
const labKills = Number(process.env.SOAK_KILLS ?? 100);
const runs = ['fuzz', 'kill', 'lab-sqlite', 'lab-postgresql'];

/** Says how far a run is, in place on a terminal, else now and then on a line of its own. */
function counter(what: string, of: number): (done: number) => void {
  let told = -1;
  return (done) => {
    const percent = Math.floor((100 * done) / of);
    if (process.stderr.isTTY) process.stderr.write(`\r${what}: ${done} of ${of}  `);
    else if (percent >= told + 10) {
      told = percent;
      process.stderr.write(`${what}: ${done} of ${of}\n`);
    }
  };
}

async function main(wanted: readonly string[]): Promise<void> {
  const all = wanted.length === 0;
  const unknown = wanted.filter((name) => !runs.includes(name));
  if (unknown.length > 0) {
    console.error(`There is no run named ${unknown.join(', ')}; there are ${runs.join(', ')}.`);
    process.exitCode = 2;
    return;
  }
  if (all || wanted.includes('fuzz')) {
    const summary = await runFuzz(1_000_000, 1_000_000 + fuzzFiles, counter('mutated files', fuzzFiles));
    console.log(
      `\n${summary.files} mutated files: ${summary.taken} taken, ${summary.files - summary.taken} refused by name, ` +
        `slowest ${summary.slowestMs.toFixed(0)} ms (file ${summary.slowest}), peak memory ${summary.peakMb.toFixed(0)} MB`,
    );
    for (const [code, times] of Object.entries(summary.refused).sort((a, b) => b[1] - a[1])) {
      console.log(`  ${code.padEnd(24)}${times}`);
    }
  }
  if (all || wanted.includes('kill')) {
    const summary = await runKills(kills, 4711, counter('kills', kills));
    console.log(
      `\n${summary.kills} kills: integrity clean after each; ${summary.files} files there whole, ` +
        `${summary.acknowledgedFiles} of them acknowledged, ${summary.liveRows} live samples, ` +
        `${summary.swept} staged records swept, ${summary.jobsTakenUp} jobs taken up again; nothing lost, nothing half there`,
    );
  }
  for (const kind of ['sqlite', 'postgresql'] satisfies LabKind[]) {
    if (!(all || wanted.includes(`lab-${kind}`))) continue;
    const plan = { clients: 20, kills: labKills, seed: 4711, longestPauseMs: 2000 };
    const summary = await runLabSoak(kind, plan, counter(`kills, ${kind}`, labKills));
    console.log(`\n${sayLabSoak(kind, summary)}`);
    if (summary.wrong.length > 0) process.exitCode = 1;
  }
}

await main(process.argv.slice(2));
