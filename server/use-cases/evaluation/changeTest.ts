import { type Context, inTransaction, nowText } from '../../context.ts';
import type { ChangeTest, Test } from '../../contract/tests.ts';
import { notFound } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findTest, updateTest } from '../../store/tests.ts';
import { versionChanged } from '../register/versionChanged.ts';

/** Changes what is known of a test: its kind, condition, fixture or note. Evaluate it again to make it count. */
export async function changeTest(
  context: Context,
  id: number,
  version: number,
  fields: ChangeTest,
): Promise<Test> {
  const present = await findTest(context.store, id);
  if (!present) throw notFound('test', id);
  await inTransaction(context, async (context) => {
    if (!(await updateTest(context.store, id, version, fields)))
      throw versionChanged(version, present.version);
    await insertAudit(context.store, {
      at: nowText(context),
      actor: context.actor.name,
      action: 'test.changed',
      subjectKind: 'test',
      subjectId: id,
      detail: { fields: Object.keys(fields).join(', ') },
    });
  });
  return (await findTest(context.store, id)) ?? present;
}
