import { furtherCautions } from '../../../../server/contract/cautions.ts';
import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { Cautions } from '../../parts/Cautions.tsx';
import { endWords } from '../../words/charge.ts';
import { say } from '../../words/i18n.ts';
import { ChargeFigures } from './ChargeFigures.tsx';
import { PowerTable } from './PowerTable.tsx';
import { RateAnswer } from './RateAnswer.tsx';
import { Spread } from './Spread.tsx';
import { StackOnlyView } from './StackOnlyView.tsx';
import { StudyAsked } from './StudyAsked.tsx';
import { boundPicture, cellPicture, stackPictures } from './studyPictures.ts';

export interface StudyResultProps {
  readonly result: ChargeStudyResult;
  readonly name: string;
  readonly voltageLimitV: number | null;
  /** All cautions in view, as on paper. */
  readonly onPaper?: boolean;
}

/** Everything a charge study found, the cautions first. */
export function StudyResult({ result, name, voltageLimitV, onPaper = false }: StudyResultProps) {
  const charges = [{ name, result }];
  const also = furtherCautions(result.cautions);
  return (
    <section aria-label={say('charge.resultOfName', { name })}>
      <Cautions also={also} full={onPaper} />
      <StudyAsked result={result} />
      <ChargeFigures charges={charges} />
      <p>{endWords[result.endReason]}</p>
      <ChartFigure
        picture={boundPicture(result)}
        height={90 + 34 * new Set(result.limits.map((l) => `${l.limit}${l.cell}`)).size}
        zoom={false}
      />
      {result.series !== null && (
        <div className="charts">
          <ChartFigure
            picture={cellPicture(
              say('charge.voltageOfEachCell'),
              { label: say('charge.voltage'), unit: 'V' },
              charges,
              'voltageV',
              1,
              voltageLimitV === null ? [] : [{ name: say('charge.limitOfEachCell'), at: voltageLimitV }],
            )}
          />
          {stackPictures(charges).map((picture) => (
            <ChartFigure key={picture.title} picture={picture} />
          ))}
          <ChartFigure
            picture={cellPicture(
              say('charge.stateOfCharge'),
              { label: 'SOC', unit: '%' },
              charges,
              'soc',
              100,
            )}
          />
          <ChartFigure
            picture={cellPicture(
              say('charge.temperature'),
              { label: say('charge.temperature'), unit: '°C' },
              charges,
              'temperatureC',
            )}
          />
        </div>
      )}
      <PowerTable result={result} />
      <RateAnswer result={result} />
      <StackOnlyView result={result} voltageLimitV={voltageLimitV} />
      <Spread result={result} />
    </section>
  );
}
