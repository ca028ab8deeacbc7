import { Button } from '@mantine/core';
import { type FileSample, fileSamples, sampleText } from '../../../../server/contract/fileSamples.ts';
import { downloadText } from '../../parts/download.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { say } from '../../words/i18n.ts';
import { sampleWords } from '../../words/samples.ts';

/** Which headers are recognised, by kind of file, each with a sample to download and try. */
export function KnownHeaders() {
  const [open, setOpen] = useUrlState('samples');
  return (
    <details open={open === 'open'} onToggle={(e) => setOpen(e.currentTarget.open ? 'open' : '')}>
      <summary>{say('import.headersThatAreRecognisedAndA')}</summary>
      {fileSamples.map((sample) => (
        <KnownKind key={sample.fileName} sample={sample} />
      ))}
      <p className="help">{say('import.unitsStandInBracketsAfterAn')}</p>
    </details>
  );
}

function KnownKind({ sample }: { readonly sample: FileSample }) {
  return (
    <section>
      <h3>{sampleWords(sample.title)}</h3>
      <Sheet
        label={sampleWords(sample.title)}
        head={[say('import.header'), say('import.whatTheColumnHolds'), say('import.otherHeaders')]}
        rows={sample.columns.map((column) => [
          <code key={column.header}>{column.header}</code>,
          sampleWords(column.holds),
          column.also.join(', '),
        ])}
      />
      <p>
        <Button
          size="compact-sm"
          variant="default"
          onClick={() => downloadText(sample.fileName, 'text/csv', sampleText(sample))}
        >
          {say('import.downloadFileName', { fileName: sample.fileName })}
        </Button>
      </p>
    </section>
  );
}
