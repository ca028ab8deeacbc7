import { Button, FileButton, Group, NativeSelect } from '@mantine/core';
import type { OperatingPointList } from '../../../../server/contract/supplyParts.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { instant } from '../../format/time.ts';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { decimalMark } from '../../words/language.ts';

/** Enough digits for every meter, and never three, which could be read as thousands. */
const DIGITS = 5;

/** Operating points as the lines of the field they are edited in. */
export function pointLines({ points }: Pick<OperatingPointList, 'points'>): string {
  return points
    .map((point) => {
      const input = 'inputVoltageV' in point ? [point.inputVoltageV, point.inputCurrentA] : [];
      const temperature = point.temperatureC === undefined ? [] : [point.temperatureC];
      return [point.outputVoltageV, point.outputCurrentA, ...input, ...temperature]
        .map((value) => value.toFixed(DIGITS).replace('.', decimalMark))
        .join(' ');
    })
    .join('\n');
}

/** Takes operating points from a table (CSV, spreadsheet) or from a stack log into the field where they are edited. */
export function OperatingPointsFrom({
  onPoints,
}: {
  readonly onPoints: (lines: string, meters: OperatingPointList['meters']) => void;
}) {
  const logs = useRequest('/stack-logs', { query: { limit: 100 } });
  const withInput = (logs.data?.items ?? []).filter(
    ({ state, columns }) => state === 'sealed' && columns.some(({ role }) => role === 'bus-current'),
  );
  const take = (list: OperatingPointList): void => onPoints(pointLines(list), list.meters);
  const fromFile = useAction(
    (file: File) =>
      api.post('/operating-points', {
        raw: file,
        rawType: 'application/octet-stream',
      }),
    [],
    take,
  );
  const fromLog = useAction(
    (id: number) => api.get('/stack-logs/{id}/operating-points', { params: { id } }),
    [],
    take,
  );
  return (
    <>
      <Group gap="sm" align="end">
        <FileButton
          accept=".csv,.txt,.tsv,.xlsx"
          onChange={(file) => file !== null && fromFile.run(file)}
          inputProps={{ 'aria-label': say('supplyParts.tableOfOperatingPoints') }}
        >
          {(props) => (
            <Button {...props} size="xs" variant="default" loading={fromFile.running}>
              {say('supplyParts.pointsFromATable')}
            </Button>
          )}
        </FileButton>
        {withInput.length > 0 && (
          <NativeSelect
            size="xs"
            label={say('supplyParts.pointsFromAStackLog')}
            value=""
            data={[
              { value: '', label: '–' },
              ...withInput.map((log) => ({
                value: String(log.id),
                label: `${log.stackName}, ${log.fileName}${log.startedAt === null ? '' : `, ${instant(log.startedAt)}`}`,
              })),
            ]}
            onChange={(e) => e.currentTarget.value !== '' && fromLog.run(Number(e.currentTarget.value))}
          />
        )}
      </Group>
      <Problem error={fromFile.error ?? fromLog.error} />
    </>
  );
}
