// A service that ends suddenly, without any clean-up, at the moment at which it keeps the answer of an Idempotency-Key:
// what the request asked for has been done by then. It sends itself one request.
import request from 'supertest';
import type { SqliteStore } from '../../../server/store/sqlite.ts';
import { openTestApp } from '../../support/testApp.ts';

const [folder, path, key, body] = process.argv.slice(2);
const { app, context } = await openTestApp({ GEMEL_DATA: folder });
const { connection } = context.store as SqliteStore;
connection.function('end_suddenly', () => {
  process.kill(process.pid, 'SIGKILL');
  return 0;
});
connection.exec(
  'CREATE TEMP TRIGGER sudden_end BEFORE INSERT ON IdempotentAnswer BEGIN SELECT end_suddenly(); END',
);
const post = request(app).post(`/api/v1${path}`).set('Idempotency-Key', key);
const answer = path.startsWith('/imports')
  ? await post.set('Content-Type', 'text/csv').send(body)
  : await post.send(JSON.parse(body));
process.stdout.write(`the service did not end: ${answer.status} ${answer.text}\n`);
