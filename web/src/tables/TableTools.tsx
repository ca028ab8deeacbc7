import { Button } from '@mantine/core';
import { fileName } from '../charts/pictureTable.ts';
import { downloadText } from '../parts/download.ts';
import { useNotice } from '../parts/Notices.tsx';
import { say } from '../words/i18n.ts';
import { clipboardText, csvOf, type TableRows } from './tableFile.ts';

/** Hands a table on: copied for a spreadsheet, or as a CSV file of all its rows. */
export function TableTools({ label, rows }: { label: string; rows: () => TableRows }) {
  const tell = useNotice();
  const copy = async () => {
    const all = rows();
    await navigator.clipboard.writeText(clipboardText(all));
    tell({ text: say('general.allRowsCopied', { all: all.length - 1 }) });
  };
  return (
    <span className="table-tools">
      {navigator.clipboard !== undefined && (
        <Button
          size="compact-xs"
          variant="subtle"
          aria-label={say('general.copyLabel', { label })}
          onClick={() => void copy()}
        >
          {say('general.copy')}
        </Button>
      )}
      <Button
        size="compact-xs"
        variant="subtle"
        aria-label={say('general.labelAsCsv', { label })}
        onClick={() => downloadText(fileName(label, 'csv'), 'text/csv', csvOf(rows()))}
      >
        CSV
      </Button>
    </span>
  );
}
