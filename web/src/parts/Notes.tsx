import { Button, FileButton, Group, Textarea } from '@mantine/core';
import { useState } from 'react';
import { api } from '../api/ApiClient.ts';
import { useAction } from '../api/useAction.ts';
import { useRequest } from '../api/useRequest.ts';
import { instant } from '../format/time.ts';
import { say } from '../words/i18n.ts';
import { useNotice } from './Notices.tsx';
import { Problem } from './Problem.tsx';

/** Notes and photos kept with a thing. They are kept for good: a correction is another note. */
export function Notes({ of, id }: { of: 'cells' | 'stacks'; id: number }) {
  const notes = useRequest(`/${of}/{id}/notes`, { params: { id } });
  const stale = [`/${of}/${id}/notes`, `/${of}/${id}/history`];
  const [text, setText] = useState('');
  const tell = useNotice();
  const add = useAction(
    (written: string, key) =>
      api.post(`/${of}/{id}/notes`, { params: { id }, body: { text: written }, idempotencyKey: key }),
    stale,
    (_, written) => {
      // What was typed while the note was being kept is the beginning of the next one.
      setText((now) => (now.trim() === written ? '' : now));
      tell({ text: say('general.theNoteIsAdded') });
    },
  );
  const addPhoto = useAction(
    (photo: File) =>
      api.post(`/${of}/{id}/pictures`, {
        params: { id },
        raw: photo,
        rawType: photo.type,
        headers: { 'x-file-name': encodeURIComponent(photo.name) },
      }),
    stale,
    () => tell({ text: say('general.thePhotoIsAdded') }),
  );
  return (
    <>
      <h2>{say('general.notesAndPhotos')}</h2>
      <Problem error={notes.error} again={notes.again} />
      {notes.data?.items.map((note) => (
        <blockquote key={note.id} className="note">
          {note.text !== null && <p>{note.text}</p>}
          {note.text === null && note.mediaType.startsWith('image/') && (
            <img
              className="photo"
              src={api.address('/attachments/{id}/content', { params: { id: note.id } })}
              alt={note.name}
              loading="lazy"
            />
          )}
          <footer>
            {note.createdBy}, {instant(note.createdAt)}
          </footer>
        </blockquote>
      ))}
      <form
        onSubmit={(e) => {
          e.preventDefault();
          if (text.trim() !== '') add.run(text.trim());
        }}
      >
        <Textarea
          label={say('general.addANote')}
          autosize
          minRows={2}
          maw={640}
          value={text}
          onChange={(e) => setText(e.currentTarget.value)}
        />
        <Group gap="xs" mt={6}>
          <Button
            type="submit"
            size="xs"
            variant="default"
            loading={add.running}
            disabled={text.trim() === ''}
          >
            {say('general.addNote')}
          </Button>
          <FileButton
            accept="image/jpeg,image/png,image/webp"
            onChange={(photo) => photo !== null && addPhoto.run(photo)}
            inputProps={{ 'aria-label': say('general.photoToKeep') }}
          >
            {(props) => (
              <Button {...props} size="xs" variant="default" loading={addPhoto.running}>
                {say('general.addAPhoto')}
              </Button>
            )}
          </FileButton>
        </Group>
      </form>
      <Problem error={add.error ?? addPhoto.error} />
    </>
  );
}
