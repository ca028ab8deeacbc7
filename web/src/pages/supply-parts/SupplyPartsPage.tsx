import { Button } from '@mantine/core';
import type { SupplyPart } from '../../../../server/contract/supplyParts.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import type { Picture } from '../../charts/picture.ts';
import { fixed, significant } from '../../format/number.ts';
import { instant } from '../../format/time.ts';
import { Empty } from '../../parts/Empty.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';
import { NewSupplyPart } from './NewSupplyPart.tsx';

/** Converters, cables and sources by name, with what was measured of them. */
export default function SupplyPartsPage() {
  const parts = useRequest('/supply-parts');
  const items = parts.data?.items ?? [];
  const remove = useAction(
    (id: number) => api.delete('/supply-parts/{id}', { params: { id } }),
    ['/supply-parts'],
  );
  return (
    <>
      <PageHead
        title={say('supplyParts.convertersCablesSources')}
        within={[{ name: say('supplyParts.chargeStudies'), path: '/charge-studies' }]}
        about={say('supplyParts.keptByNameAndPickedIn')}
      />
      {parts.loading && <Waiting />}
      <Problem error={parts.error ?? remove.error} again={parts.again} />
      {parts.data !== undefined && items.length === 0 && (
        <Empty title={say('supplyParts.noConverterCableOrSourceYet')}>
          <p>{say('supplyParts.addOneBelowWhatAStudy')}</p>
        </Empty>
      )}
      {items.length > 0 && (
        <Sheet
          label={say('supplyParts.convertersCablesSources')}
          head={[
            say('supplyParts.name'),
            say('supplyParts.what'),
            say('supplyParts.revision'),
            say('supplyParts.losses'),
            say('supplyParts.limits'),
            say('supplyParts.since'),
            '',
          ]}
          numeric={[2]}
          rows={items.map((part) => [
            part.name,
            plainCode(part.kind),
            part.revision,
            lossesOf(part),
            limitsOf(part),
            instant(part.createdAt),
            <Button key="away" size="compact-xs" variant="subtle" onClick={() => remove.run(part.id)}>
              {say('supplyParts.takeOffTheList')}
            </Button>,
          ])}
        />
      )}
      {items.flatMap((part) => {
        const picture = efficiencyPicture(part);
        return picture === null
          ? []
          : [<ChartFigure key={part.id} picture={picture} note={metersOf(part)} />];
      })}
      <NewSupplyPart />
    </>
  );
}

const milli = (value: number) => significant(1000 * value, 3);

function lossesOf(part: SupplyPart): string {
  if (part.kind === 'source') return '–';
  if (part.kind === 'cable') return `${milli(part.description.resistanceOhm)} mΩ`;
  const { converter, fromLog } = part.measured;
  if (converter !== undefined) {
    const { outputResistanceOhm: r, fixedLossCurrentA: i } = converter;
    return say('supplyParts.valueMLowToHighValue2', {
      value: milli(r.value),
      low: milli(r.low),
      high: milli(r.high),
      value2: milli(i.value),
      low2: milli(i.low),
      high2: milli(i.high),
    });
  }
  const stage = part.description.ratioStage;
  const from = fromLog === undefined ? '' : say('supplyParts.fromAMeasuredCharge');
  if (stage?.outputResistanceOhm !== undefined)
    return say('supplyParts.outputResistanceOhmMFixedLoss', {
      outputResistanceOhm: milli(stage.outputResistanceOhm),
      fixedLossCurrentA: milli(stage.fixedLossCurrentA ?? 0),
      from,
    });
  return stage?.efficiency === undefined
    ? say('supplyParts.byPathOrRegulator')
    : say('supplyParts.byEfficiency');
}

function limitsOf(part: SupplyPart): string {
  if (part.kind === 'source') {
    const { minVoltageV, maxVoltageV, maxCurrentA, maxPowerW } = part.description;
    return say('supplyParts.minVoltageVToMaxVoltage', {
      minVoltageV,
      maxVoltageV,
      maxCurrentA,
      maxPowerW: maxPowerW === undefined ? '' : `, ${maxPowerW} W`,
    });
  }
  if (part.kind === 'cable')
    return part.description.maxCurrentA === undefined ? '–' : `${part.description.maxCurrentA} A`;
  const stage = part.description.ratioStage;
  const limits = [
    stage === undefined ? '' : say('supplyParts.ratioRatio', { ratio: stage.ratio }),
    stage?.maxPathCurrentA === undefined
      ? ''
      : say('supplyParts.maxPathCurrentAAA', { maxPathCurrentA: stage.maxPathCurrentA }),
    part.temperatureLimitC === null ? '' : `${fixed(part.temperatureLimitC, 0)} °C`,
  ].filter((text) => text !== '');
  return limits.length === 0 ? '–' : limits.join(', ');
}

/** What the intervals take for the meters' errors. */
function metersOf(part: SupplyPart): string | undefined {
  const { meters, assumed } = part.measured.converter ?? {};
  if (meters === undefined || assumed === undefined) return undefined;
  const values = {
    percent: significant(100 * meters.readingShare, 3),
    mv: significant(1000 * meters.voltageOffsetV, 3),
    ma: significant(1000 * meters.currentOffsetA, 3),
  };
  return assumed.length === 0
    ? say('supplyParts.intervalsTakeTheMeters', values)
    : say('supplyParts.intervalsAssumeTheMeters', values);
}

/** Efficiency over the output current with its interval and the measured points; null where it was not measured. */
function efficiencyPicture(part: SupplyPart): Picture | null {
  if (part.kind !== 'converter' || part.measured.converter === undefined) return null;
  const { curve } = part.measured.converter;
  const points = part.description.ratioStage?.operatingPoints?.points ?? [];
  const line = (pick: (point: (typeof curve)[number]) => number) =>
    curve.map((point) => ({ x: point.outputCurrentA, y: 100 * pick(point) }));
  return {
    title: say('supplyParts.efficiencyOf', { partName: part.name }),
    x: { label: say('supplyParts.outputCurrent'), unit: 'A' },
    y: { label: say('supplyParts.efficiency'), unit: '%' },
    series: [
      {
        name: say('supplyParts.fromThePoints'),
        points: line((p) => p.efficiency.value),
        draw: 'line',
        ink: 0,
        shape: 'none',
        width: 2,
      },
      {
        name: say('supplyParts.n95IntervalLow'),
        points: line((p) => p.efficiency.low),
        draw: 'line',
        ink: 0,
        shape: 'none',
        dash: 'dotted',
      },
      {
        name: say('supplyParts.n95IntervalHigh'),
        points: line((p) => p.efficiency.high),
        draw: 'line',
        ink: 0,
        shape: 'none',
        dash: 'dotted',
      },
      {
        name: say('supplyParts.measured'),
        points: points.flatMap((p) =>
          'inputVoltageV' in p
            ? [
                {
                  x: p.outputCurrentA,
                  y: (100 * p.outputVoltageV * p.outputCurrentA) / (p.inputVoltageV * p.inputCurrentA),
                },
              ]
            : [],
        ),
        draw: 'points',
        ink: 1,
        shape: 'circle',
      },
    ],
  };
}
