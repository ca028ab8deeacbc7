import type { ReactNode } from 'react';
import { furtherCautions } from '../../../../server/contract/cautions.ts';
import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { Cautions } from '../../parts/Cautions.tsx';
import { cautionSentence } from '../../words/cautions.ts';
import { endWords } from '../../words/charge.ts';
import { say } from '../../words/i18n.ts';
import { ChargeFigures } from './ChargeFigures.tsx';
import { PowerTable } from './PowerTable.tsx';
import { RateAnswer } from './RateAnswer.tsx';
import { Spread } from './Spread.tsx';
import { StackOnlyView } from './StackOnlyView.tsx';
import { StudyAnswer } from './StudyAnswer.tsx';
import { StudyAsked, StudyNotes } from './StudyAsked.tsx';
import { boundPicture, cellPicture, differencePicture, stackPictures } from './studyPictures.ts';

export interface StudyResultProps {
  readonly result: ChargeStudyResult;
  readonly name: string;
  readonly voltageLimitV: number | null;
  /** All cautions in view, as on paper. */
  readonly onPaper?: boolean;
  /** Stands on the left of the answer only: the charts and tables below take the whole width. */
  readonly beside?: ReactNode;
}

/** Everything a charge study found: the answer and what limited the current first, with what they rest on. */
export function StudyResult({ result, name, voltageLimitV, onPaper = false, beside }: StudyResultProps) {
  const charges = [{ name, result }];
  const difference = differencePicture(charges);
  const also = furtherCautions(result.cautions).map(cautionSentence);
  const first = (
    <>
      <StudyAnswer result={result} />
      {!onPaper && <Cautions also={also} />}
      <StudyNotes result={result} full={onPaper} />
      <ChartFigure
        picture={boundPicture(result)}
        height={90 + 34 * new Set(result.limits.map((l) => `${l.limit}${l.cell}`)).size}
        zoom={false}
      />
      <p>{endWords[result.endReason]}</p>
    </>
  );
  return (
    <section aria-label={say('charge.resultOfName', { name })}>
      {onPaper && <Cautions also={also} full />}
      {onPaper && <StudyAsked result={result} />}
      {beside === undefined ? (
        first
      ) : (
        <div className="beside">
          {beside}
          <div>{first}</div>
        </div>
      )}
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
          {difference !== null && <ChartFigure picture={difference} />}
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
      <ChargeFigures charges={charges} />
      <PowerTable result={result} />
      <RateAnswer result={result} />
      <StackOnlyView result={result} voltageLimitV={voltageLimitV} />
      <Spread result={result} />
    </section>
  );
}
