import { Button, NativeSelect, Textarea, TextInput } from '@mantine/core';
import { useState } from 'react';
import {
  type OperatingPointList,
  type SupplyPartKind,
  supplyPartKind,
} from '../../../../server/contract/supplyParts.ts';
import { api } from '../../api/ApiClient.ts';
import type { At, Given } from '../../api/endpointTypes.ts';
import { useAction } from '../../api/useAction.ts';
import { readNumber } from '../../format/readNumber.ts';
import { NumberField } from '../../parts/NumberField.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';
import { OperatingPointsFrom } from './OperatingPointsFrom.tsx';

type Asked = Given<At<'POST', '/supply-parts'>>['body'];
type Field =
  | 'milliohm'
  | 'maxA'
  | 'minV'
  | 'maxV'
  | 'maxW'
  | 'paths'
  | 'limitC'
  | 'readingPercent'
  | 'offsetMv'
  | 'offsetMa';
type Values = Partial<Record<Field, number>>;

const fields: Readonly<Record<SupplyPartKind, readonly { readonly name: Field; readonly label: string }[]>> =
  {
    cable: [
      { name: 'milliohm', label: say('supplyParts.resistanceThereAndBackM') },
      { name: 'maxA', label: say('supplyParts.highestCurrentA') },
    ],
    source: [
      { name: 'minV', label: say('supplyParts.lowestVoltageV') },
      { name: 'maxV', label: say('supplyParts.highestVoltageV') },
      { name: 'maxA', label: say('supplyParts.highestCurrentA') },
      { name: 'maxW', label: say('supplyParts.highestPowerW') },
    ],
    converter: [
      { name: 'paths', label: say('supplyParts.equalPaths') },
      { name: 'maxA', label: say('supplyParts.highestOutputCurrentOfAPath') },
      { name: 'limitC', label: say('supplyParts.temperatureLimitOfTheConverterC') },
      { name: 'readingPercent', label: say('supplyParts.errorOfAMeterReading') },
      { name: 'offsetMv', label: say('supplyParts.constantErrorOfAVoltmeter') },
      { name: 'offsetMa', label: say('supplyParts.constantErrorOfAnAmmeter') },
    ],
  };

/** Four or five numbers a line: output voltage and current, input voltage and current, temperature; null where a line has others. */
function pointsOf(text: string) {
  const lines = text.split('\n').filter((line) => line.trim() !== '');
  const points = lines.map((line) =>
    line
      .trim()
      .split(/[;\t ]+/)
      .map((one) => readNumber(one).value),
  );
  if (
    points.length < 2 ||
    points.some(
      (point) => (point.length !== 4 && point.length !== 5) || point.some((value) => value === null),
    )
  )
    return null;
  return points.map(([v, i, vin, iin, temperatureC]) => ({
    outputVoltageV: v ?? 0,
    outputCurrentA: i ?? 0,
    inputVoltageV: vin ?? 0,
    inputCurrentA: iin ?? 0,
    ...(typeof temperatureC === 'number' ? { temperatureC } : {}),
  }));
}

/** Adds a part, or the next revision of one that is there. */
export function NewSupplyPart() {
  const [kind, setKind] = useState<SupplyPartKind>('converter');
  const [name, setName] = useState('');
  const [ratio, setRatio] = useState<1 | 2 | 4>(2);
  const [values, setValues] = useState<Values>({});
  const [text, setText] = useState('');
  const [meters, setMeters] = useState<OperatingPointList['meters']>(undefined);
  const keep = useAction(
    (body: Asked, key) => api.post('/supply-parts', { body, idempotencyKey: key }),
    ['/supply-parts'],
    () => {
      setName('');
      setText('');
      setMeters(undefined);
      setValues({});
    },
  );
  const points = pointsOf(text);
  const body = bodyOf({ kind, name: name.trim(), ratio, values, points, meters });
  return (
    <form
      onSubmit={(e) => {
        e.preventDefault();
        if (body !== null) keep.run(body);
      }}
    >
      <h2>{say('supplyParts.addOneOrANewRevision')}</h2>
      <div className="form">
        <NativeSelect
          label={say('supplyParts.whatItIs')}
          value={kind}
          data={supplyPartKind.options.map((one) => ({ value: one, label: plainCode(one) }))}
          onChange={(e) => setKind(supplyPartKind.parse(e.currentTarget.value))}
        />
        <TextInput
          label={say('supplyParts.name')}
          required
          value={name}
          onChange={(e) => setName(e.currentTarget.value)}
        />
        {kind === 'converter' && (
          <NativeSelect
            label={say('supplyParts.ratioOfInputToOutputVoltage')}
            value={String(ratio)}
            data={['1', '2', '4']}
            onChange={(e) =>
              setRatio(e.currentTarget.value === '4' ? 4 : e.currentTarget.value === '1' ? 1 : 2)
            }
          />
        )}
        {fields[kind].map((field) => (
          <NumberField
            key={`${kind} ${field.name}`}
            label={field.label}
            value={values[field.name] ?? null}
            onChange={(value) => {
              const { [field.name]: _, ...rest } = values;
              setValues(value === null ? rest : { ...rest, [field.name]: value });
            }}
          />
        ))}
        {kind === 'converter' && (
          <Textarea
            label={say('supplyParts.measuredOperatingPointsAllPathsTogether')}
            description={say('supplyParts.aLineEachOutputVOutput')}
            rows={4}
            value={text}
            error={
              text.trim() !== '' && points === null ? say('supplyParts.fourNumbersInEachOfTwo') : undefined
            }
            onChange={(e) => setText(e.currentTarget.value)}
          />
        )}
      </div>
      {kind === 'converter' && (
        <OperatingPointsFrom
          onPoints={(lines, given) => {
            setText(lines);
            setMeters(given);
          }}
        />
      )}
      <div className="actions">
        <Button type="submit" loading={keep.running} disabled={body === null}>
          {say('supplyParts.keep')}
        </Button>
      </div>
      <Problem error={keep.error} />
    </form>
  );
}

interface Entered {
  readonly kind: SupplyPartKind;
  readonly name: string;
  readonly ratio: 1 | 2 | 4;
  readonly values: Values;
  readonly points: ReturnType<typeof pointsOf>;
  readonly meters: OperatingPointList['meters'];
}

/** What is sent; null while something needed is missing. */
function bodyOf({ kind, name, ratio, values, points, meters }: Entered): Asked | null {
  const { milliohm, maxA, minV, maxV, maxW, paths = 1, limitC } = values;
  const optional = <K extends string>(key: K, value: number | undefined) =>
    value === undefined ? {} : ({ [key]: value } as Record<K, number>);
  if (name === '') return null;
  if (kind === 'cable')
    return milliohm === undefined
      ? null
      : { kind, name, description: { resistanceOhm: milliohm / 1000, ...optional('maxCurrentA', maxA) } };
  if (kind === 'source')
    return maxV === undefined || maxA === undefined
      ? null
      : {
          kind,
          name,
          description: {
            maxVoltageV: maxV,
            maxCurrentA: maxA,
            ...optional('minVoltageV', minV),
            ...optional('maxPowerW', maxW),
          },
        };
  if (maxA === undefined || points === null) return null;
  const share = (value: number | undefined, per: number) => (value === undefined ? undefined : value / per);
  const stated = {
    ...meters,
    ...optional('readingShare', share(values.readingPercent, 100)),
    ...optional('voltageOffsetV', share(values.offsetMv, 1000)),
    ...optional('currentOffsetA', share(values.offsetMa, 1000)),
  };
  return {
    kind,
    name,
    ...optional('temperatureLimitC', limitC),
    description: {
      ratioStage: {
        ratio,
        paths,
        maxPathCurrentA: maxA,
        operatingPoints: {
          points,
          ...(paths > 1 ? { of: 'all-paths' as const } : {}),
          ...(Object.keys(stated).length === 0 ? {} : { meters: stated }),
        },
      },
    },
  };
}
