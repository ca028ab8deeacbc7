import type { Command } from 'commander';
import { hashToken, makeToken } from '../access/identify.ts';
import { inTransaction, nowText } from '../context.ts';
import { fieldError, Refusal } from '../errors.ts';
import { insertAudit } from '../store/audit.ts';
import { insertToken, listTokens, revokeToken } from '../store/tokens.ts';
import { printJson } from './program.ts';
import { summaries } from './summaries.ts';
import { withContext } from './withContext.ts';

const roles = ['reader', 'operator', 'owner'] as const;

/** `gemel token …`: who may ask the service. A token is shown once; only its hash is stored. */
export function registerToken(program: Command): void {
  const token = program.command('token').description(summaries.token);
  token
    .command('add')
    .description('make a token; it is shown this once')
    .argument('<name>', 'what the token is for')
    .requiredOption('--role <role>', roles.join(', '))
    .action(async (name: string, options: { role: string }) =>
      withContext(async (context) => {
        const role = roles.find((known) => known === options.role);
        if (role === undefined) {
          throw new Refusal('invalid-request', `${options.role} is not a role.`, [
            fieldError('role', options.role, 'unknown', roles.join(', ')),
          ]);
        }
        if ((await listTokens(context.store)).some((known) => known.name === name)) {
          throw new Refusal('conflict', `A token named ${name} is there already.`);
        }
        const text = makeToken();
        const at = nowText(context);
        await inTransaction(context, async (context) => {
          const id = await insertToken(context.store, {
            name,
            hash: hashToken(text),
            role,
            createdAt: at,
          });
          await insertAudit(context.store, {
            at,
            actor: context.actor.name,
            action: 'token.created',
            subjectKind: 'token',
            subjectId: id,
          });
        });
        process.stdout.write(`${text}\n`);
        process.stderr.write('Keep it now: it is not shown again.\n');
      }),
    );
  token
    .command('list')
    .description('tokens with their roles and when they were last used')
    .option('--json', 'machine-readable output')
    .action(async (options: { json?: boolean }) =>
      withContext(async (context) => {
        const tokens = await listTokens(context.store);
        if (options.json) printJson({ tokens });
        for (const known of options.json ? [] : tokens) {
          process.stdout.write(
            `${known.name}: ${known.role}, ${known.revokedAt ? 'revoked' : `last used ${known.lastUsedAt ?? 'never'}`}\n`,
          );
        }
      }),
    );
  token
    .command('revoke')
    .description('let a token open nothing from now on')
    .argument('<name>', 'name of the token')
    .action(async (name: string) =>
      withContext(async (context) => {
        const at = nowText(context);
        await inTransaction(context, async (context) => {
          const known = (await listTokens(context.store)).find((each) => each.name === name);
          if (known === undefined || !(await revokeToken(context.store, name, at))) {
            throw new Refusal('not-found', `There is no token named ${name} in force.`);
          }
          await insertAudit(context.store, {
            at,
            actor: context.actor.name,
            action: 'token.revoked',
            subjectKind: 'token',
            subjectId: known.id,
          });
        });
        process.stdout.write(`Revoked ${name}.\n`);
      }),
    );
}
