import { Button } from '@mantine/core';
import { type FileSample, fileSamples, sampleText } from '../../../../server/contract/fileSamples.ts';
import { downloadText } from '../../parts/download.ts';
import { useUrlState } from '../../parts/useUrlState.ts';

/** Which headers are recognised, by kind of file, each with a sample to download and try. */
export function KnownHeaders() {
  const [open, setOpen] = useUrlState('samples');
  return (
    <details open={open === 'open'} onToggle={(e) => setOpen(e.currentTarget.open ? 'open' : '')}>
      <summary>Headers that are recognised, and a sample file of each kind</summary>
      {fileSamples.map((sample) => (
        <KnownKind key={sample.fileName} sample={sample} />
      ))}
      <p className="help">
        Units stand in brackets, after an underscore or in a row below the header. More headers are recognised
        than are listed here, in English and German; any other column can be assigned after the file is
        chosen.
      </p>
    </details>
  );
}

function KnownKind({ sample }: { readonly sample: FileSample }) {
  return (
    <section aria-label={sample.title}>
      <h3>{sample.title}</h3>
      <table>
        <thead>
          <tr>
            <th scope="col">Header</th>
            <th scope="col">What the column holds</th>
            <th scope="col">Other headers</th>
          </tr>
        </thead>
        <tbody>
          {sample.columns.map((column) => (
            <tr key={column.header}>
              <th scope="row">{column.header}</th>
              <td>{column.holds}</td>
              <td>{column.also.join(', ')}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p>
        <Button
          size="compact-sm"
          variant="default"
          onClick={() => downloadText(sample.fileName, 'text/csv', sampleText(sample))}
        >
          Download {sample.fileName}
        </Button>
      </p>
    </section>
  );
}
