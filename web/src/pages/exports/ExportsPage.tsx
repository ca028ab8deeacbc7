import { api } from '../../api/ApiClient.ts';
import { useRequest } from '../../api/useRequest.ts';
import { instant } from '../../format/time.ts';
import { Empty } from '../../parts/Empty.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { formatNames } from './formats.ts';
import { NewExport } from './NewExport.tsx';

export default function ExportsPage() {
  const { data, error, loading, again } = useRequest('/exports', { query: { limit: 200 } });
  return (
    <>
      <PageHead
        title="Exports"
        about="Parameters with units, uncertainties and their origin, for the tools that plan the charge. Each exported file is kept unchanged."
      />
      <NewExport />
      <h2>Earlier exports</h2>
      {loading && <Waiting />}
      <Problem error={error} again={again} />
      {data !== undefined &&
        (data.items.length === 0 ? (
          <Empty title="Nothing exported yet">
            <p>
              Choose above what to export, or use “Export” on the page of a cell, lot, pairing, stack or
              study.
            </p>
          </Empty>
        ) : (
          <Sheet
            label="Exports"
            head={['File', 'What it is', 'Of', 'Size, kB', 'When', 'By']}
            numeric={[3]}
            maxHeight={640}
            rows={data.items.map((e) => [
              <a
                key="file"
                href={api.address('/exports/{id}/file', { params: { id: e.id } })}
                download={e.fileName}
              >
                {e.fileName}
              </a>,
              formatNames[e.format].name,
              `${e.subjectKind.replace('-', ' ')} ${e.subjectId}`,
              (e.bytes / 1000).toFixed(1),
              instant(e.createdAt),
              e.createdBy,
            ])}
          />
        ))}
    </>
  );
}
