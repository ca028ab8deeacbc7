import { Button, Checkbox, NativeSelect } from '@mantine/core';
import { useState } from 'react';
import type { StackLogEvaluation } from '../../../../server/contract/stackLogEvaluations.ts';
import type { TakenQuantity } from '../../../../server/contract/takenParameters.ts';
import { api } from '../../api/ApiClient.ts';
import type { At, Given } from '../../api/endpointTypes.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';

type Asked = Given<At<'POST', '/stack-log-evaluations/{id}/take-over'>>['body'];

const quantities: readonly {
  readonly name: TakenQuantity;
  /** All of them need an interval. */
  readonly parameters: readonly string[];
  readonly label: string;
}[] = [
  { name: 'capacity', parameters: ['capacityAh'], label: say('stackLogs.capacity') },
  { name: 'r0', parameters: ['r0Factor'], label: 'R0' },
  { name: 'branches', parameters: ['branchFactor'], label: say('stackLogs.rcBranches') },
  {
    name: 'heat',
    parameters: ['heatCapacityJPerK', 'heatTransferWPerK'],
    label: say('words.heatCapacityAndTransfer'),
  },
];

/** Takes what an evaluation found over into parameters of cells, stack, converter and cable. */
export function TakeOver({ evaluation }: { evaluation: StackLogEvaluation }) {
  const { id, result, logIds } = evaluation;
  const log = useRequest('/stack-logs/{id}', { params: { id: String(logIds[0]) } });
  const parts = useRequest('/supply-parts');
  const [chosen, setChosen] = useState<readonly string[]>([]);
  const [converter, setConverter] = useState('');
  const [cable, setCable] = useState('');
  const take = useAction(
    (body: Asked, key) =>
      api.post('/stack-log-evaluations/{id}/take-over', { params: { id }, body, idempotencyKey: key }),
    ['/cells', '/stacks', '/supply-parts', '/measurements'],
    () => setChosen([]),
  );
  const cells = log.data?.cells ?? [];
  const offered = cells.flatMap(({ cellId }, k) =>
    quantities
      .filter(({ parameters }) =>
        parameters.every((parameter) =>
          result.fit?.estimates.some(
            (one) =>
              one.quantity === parameter && one.cell === result.conditions.cells[k].name && one.low !== null,
          ),
        ),
      )
      .map(({ name, label }) => ({
        key: `${cellId} ${name}`,
        label: say('stackLogs.labelOfName', { label, name: result.conditions.cells[k].name }),
      })),
  );
  const choices = [
    ...offered,
    ...(result.supply.stackOhm.value === null
      ? []
      : [{ key: 'stack', label: say('stackLogs.connectionsOfTheStack2') }]),
  ];
  const kept = (kind: 'converter' | 'cable') => parts.data?.items.filter((part) => part.kind === kind) ?? [];
  const canConverter = result.supply.converterOhm.value !== null && kept('converter').length > 0;
  const canCable = result.supply.cableOhm.value !== null && kept('cable').length > 0;
  if (choices.length === 0 && !canConverter && !canCable) return null;
  const body = (): Asked => ({
    cells: cells.flatMap(({ cellId }) => {
      const own = quantities
        .filter(({ name }) => chosen.includes(`${cellId} ${name}`))
        .map(({ name }) => name);
      return own.length === 0 ? [] : [{ cellId, quantities: own }];
    }),
    stackResistance: chosen.includes('stack'),
    ...(converter === '' ? {} : { converter }),
    ...(cable === '' ? {} : { cable }),
  });
  return (
    <form
      className="not-print"
      onSubmit={(e) => {
        e.preventDefault();
        take.run(body());
      }}
    >
      <h2>{say('stackLogs.takeOverIntoTheParameters')}</h2>
      <p>{say('stackLogs.whatIsThereStaysCapacitiesBecome')}</p>
      <div className="form">
        <Checkbox.Group label={say('stackLogs.values')} value={[...chosen]} onChange={setChosen}>
          {choices.map(({ key, label }) => (
            <Checkbox key={key} size="xs" mt={4} value={key} label={label} />
          ))}
        </Checkbox.Group>
        {canConverter && (
          <PartSelect
            label={say('stackLogs.converterMeasuredHere')}
            parts={kept('converter')}
            value={converter}
            onChange={setConverter}
          />
        )}
        {canCable && (
          <PartSelect
            label={say('stackLogs.cableMeasuredHere')}
            parts={kept('cable')}
            value={cable}
            onChange={setCable}
          />
        )}
      </div>
      <div className="actions">
        <Button
          type="submit"
          variant="default"
          loading={take.running}
          disabled={chosen.length === 0 && converter === '' && cable === ''}
        >
          {say('stackLogs.takeOver')}
        </Button>
      </div>
      {take.output !== undefined && <p role="status">{say('stackLogs.takenOverStudiesDraftedFromNow')}</p>}
      <Problem error={take.error} />
    </form>
  );
}

interface PartSelectProps {
  readonly label: string;
  readonly parts: readonly { readonly name: string; readonly revision: number }[];
  readonly value: string;
  readonly onChange: (name: string) => void;
}

function PartSelect({ label, parts, value, onChange }: PartSelectProps) {
  return (
    <NativeSelect
      size="xs"
      label={label}
      value={value}
      data={[
        { value: '', label: say('stackLogs.none') },
        ...parts.map(({ name, revision }) => ({
          value: name,
          label: say('stackLogs.nameRevisionRevision', { name, revision }),
        })),
      ]}
      onChange={(e) => onChange(e.currentTarget.value)}
    />
  );
}
