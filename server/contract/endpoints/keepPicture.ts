import { attachmentList } from '../cells.ts';
import { idParameter } from '../common.ts';

/** The endpoint that keeps a picture, the same with a cell and with a stack. */
export const keepPicture = {
  summary: 'Keep a picture (the body; its name in the header X-File-Name), at most 10 MB',
  params: idParameter,
  takes: ['image/jpeg', 'image/png', 'image/webp'],
  gives: 'application/json',
  answer: attachmentList,
  status: 201,
} as const;
