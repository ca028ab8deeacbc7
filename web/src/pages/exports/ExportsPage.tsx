import { api } from '../../api/ApiClient.ts';
import { useRequest } from '../../api/useRequest.ts';
import { instant } from '../../format/time.ts';
import { Empty } from '../../parts/Empty.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { say } from '../../words/i18n.ts';
import { formatNames } from './formats.ts';
import { NewExport } from './NewExport.tsx';

export default function ExportsPage() {
  const { data, error, loading, again } = useRequest('/exports', { query: { limit: 200 } });
  return (
    <>
      <PageHead
        title={say('exports.exports')}
        about={say('exports.parametersWithUnitsUncertaintiesAndTheir')}
      />
      <NewExport />
      <h2>{say('exports.earlierExports')}</h2>
      {loading && <Waiting />}
      <Problem error={error} again={again} />
      {data !== undefined &&
        (data.items.length === 0 ? (
          <Empty title={say('exports.nothingExportedYet')}>
            <p>{say('exports.chooseAboveWhatToExportOr')}</p>
          </Empty>
        ) : (
          <Sheet
            label={say('exports.exports')}
            head={[
              say('exports.file'),
              say('exports.whatItIs'),
              say('exports.of'),
              say('exports.sizeKb'),
              say('exports.when'),
              say('exports.by'),
            ]}
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
