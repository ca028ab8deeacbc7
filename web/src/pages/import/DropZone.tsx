import { Button } from '@mantine/core';
import { useRef, useState } from 'react';
import { useFinger } from '../../settings/useFinger.ts';
import { say } from '../../words/i18n.ts';

/** Takes many files by dragging, or by a button for those who do not drag. */
export function DropZone({ onFiles }: { onFiles: (files: readonly File[]) => void }) {
  const finger = useFinger();
  const [over, setOver] = useState(false);
  const input = useRef<HTMLInputElement>(null);
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: dragging is an extra; the button below does the same
    <div
      className="drop"
      data-over={over || undefined}
      onDragOver={(e) => {
        e.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={(e) => {
        e.preventDefault();
        setOver(false);
        onFiles([...e.dataTransfer.files]);
      }}
    >
      <p>
        {say('import.wordRecordsTablesOfCellsCycles', {
          word: finger ? say('import.filesOfTheBench') : say('import.dropFilesHere'),
        })}
      </p>
      <Button onClick={() => input.current?.click()}>{say('import.chooseFiles')}</Button>
      <input
        ref={input}
        type="file"
        multiple
        hidden
        aria-label={say('import.filesToImport')}
        accept=".csv,.txt,.tsv,.gz,.xlsx,.parquet,.zip,text/csv,text/plain"
        onChange={(e) => {
          onFiles([...(e.currentTarget.files ?? [])]);
          e.currentTarget.value = '';
        }}
      />
    </div>
  );
}
