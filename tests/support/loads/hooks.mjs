import { appendFileSync } from 'node:fs';

export async function load(url, context, nextLoad) {
  appendFileSync(process.env.RECORDED_LOADS, `${url}\n`);
  return nextLoad(url, context);
}
