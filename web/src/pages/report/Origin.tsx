import type { ParameterOrigin } from '../../../../server/contract/parameterSet.ts';
import { useRequest } from '../../api/useRequest.ts';
import { instant } from '../../format/time.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { say } from '../../words/i18n.ts';
import { codeOrName } from '../../words/reasons.ts';

export interface OriginProps {
  readonly kind: 'lot' | 'pairing' | 'stack' | 'cell';
  readonly id: number;
}

/** Where the numbers of a report came from: software, evaluations, files with their hashes. */
export function Origin({ kind, id }: OriginProps) {
  const origin = useRequest('/parameter-sets/{kind}/{id}/origin', { params: { kind, id } });
  const { data } = origin;
  if (data === undefined)
    return origin.loading ? <Waiting /> : <Problem error={origin.error} again={origin.again} />;
  const { software, fits, tests, files } = data.provenance;
  return (
    <>
      <h2>
        {say('report.whereTheNumbersCameFrom', {
          subjectName: kind === 'cell' ? `: ${data.subject.name}` : '',
        })}
      </h2>
      <p>
        {say('report.testsEvaluationsFiles', {
          softwareName: software.name,
          version: software.version,
          tests: tests.length,
          fits: fits.length,
          files: files.length,
        })}
      </p>
      <Sheet
        label={say('report.evaluations')}
        head={[
          say('report.evaluation'),
          say('report.version'),
          say('report.count'),
          say('report.from'),
          say('report.to'),
        ]}
        numeric={[2]}
        rows={byAlgorithm(fits)}
      />
      <Sheet
        label={say('report.files')}
        head={[say('report.file'), say('report.sha256'), say('report.imported'), say('report.by')]}
        rows={files.map((file) => [
          file.name,
          <code key="hash">{file.sha256}</code>,
          instant(file.importedAt),
          file.importedBy,
        ])}
      />
    </>
  );
}

/** One row for each algorithm and version: how many fits, and when the first and the last were made. */
function byAlgorithm(fits: ParameterOrigin['provenance']['fits']): (string | number)[][] {
  const groups = new Map<string, { name: string; version: string; instants: string[] }>();
  for (const fit of fits) {
    const key = `${fit.algorithm} ${fit.algorithmVersion}`;
    const group = groups.get(key) ?? {
      name: codeOrName(fit.algorithm),
      version: fit.algorithmVersion,
      instants: [],
    };
    group.instants.push(fit.createdAt);
    groups.set(key, group);
  }
  return [...groups.values()].map(({ name, version, instants }) => {
    const sorted = instants.sort();
    return [name, version, instants.length, instant(sorted[0]), instant(sorted[sorted.length - 1])];
  });
}
