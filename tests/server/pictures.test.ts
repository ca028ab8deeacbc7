import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { createCell } from '../../server/use-cases/register/createCell.ts';
import { makeLot } from '../support/basics.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

const png = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);

describe('a picture of a cell', () => {
  let test: TestApp;
  let path: string;
  beforeAll(async () => {
    test = await openTestApp();
    const { lot } = await makeLot(test.context);
    path = `/api/v1/cells/${(await createCell(test.context, { lotId: lot.id, serial: 'A', note: '' })).id}/pictures`;
  });
  afterAll(async () => test.close());
  const send = (name: string, type: string, data: Buffer) =>
    request(test.app).post(path).set('Content-Type', type).set('X-File-Name', name).send(data);

  it('keeps its name in every alphabet and gives its bytes back', async () => {
    const { status, body } = await send(encodeURIComponent('Zelle ä.png'), 'image/png', png);
    expect(status).toBe(201);
    const [kept] = body.items;
    expect(kept).toMatchObject({ name: 'Zelle ä.png', mediaType: 'image/png' });
    const content = await request(test.app).get(`/api/v1/attachments/${kept.id}/content`);
    expect(content.headers['content-type']).toBe('image/png');
    expect(Buffer.compare(content.body, png)).toBe(0);
  });

  it('is refused by the name of what is wrong: a name that is no encoded text, bytes of another kind', async () => {
    const name = await send('%E0%A4%A', 'image/png', png);
    expect(name.body).toMatchObject({ status: 400, errors: [{ field: 'X-File-Name', value: '%E0%A4%A' }] });
    const bytes = await send('a.jpg', 'image/jpeg', png);
    expect(bytes.body).toMatchObject({ status: 415, errors: [{ field: 'body', value: 'a.jpg' }] });
  });
});
