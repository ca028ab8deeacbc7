import { Button } from '@mantine/core';
import { useState } from 'react';
import { furtherCautions } from '../../../../server/contract/cautions.ts';
import type { StoredPair } from '../../../../server/contract/pairings.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { significant } from '../../format/number.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { cautionSentence } from '../../words/cautions.ts';
import { endWords } from '../../words/charge.ts';
import { say } from '../../words/i18n.ts';
import { noteWords } from '../../words/studyNotes.ts';
import { ChargeFigures } from '../charge/ChargeFigures.tsx';
import { StackOnlyView } from '../charge/StackOnlyView.tsx';
import { cellPicture } from '../charge/studyPictures.ts';
import { namesOf } from './namesOf.ts';
import { setWords } from './setWords.ts';

/** How a pair would charge in series, computed when it is asked for. */
export function PairCharging({ pair }: { pair: Pick<StoredPair, 'id' | 'cells'> }) {
  const name = namesOf(pair);
  const [wanted, setWanted] = useState(false);
  const { data, error, again } = useRequest(wanted ? '/pairs/{id}/charge' : null, {
    params: { id: pair.id },
  });
  if (!wanted) {
    return (
      <Button size="compact-sm" variant="default" mb={8} onClick={() => setWanted(true)}>
        {setWords(pair.cells.length).charge}
      </Button>
    );
  }
  if (data === undefined) return error === null ? <Waiting /> : <Problem error={error} again={again} />;
  const { result } = data;
  const charges = [{ name, result }];
  return (
    <section aria-label={say('pairings.chargeOfName', { name })}>
      <h4>
        {say('pairings.chargedAtAEachCellWatched', {
          chargeCurrentA: significant(data.chargeCurrentA, 3),
        })}
        {data.limitsCharge !== null &&
          say('pairings.meetsItsVoltageLimitFirst', { limitsCharge: data.limitsCharge })}
      </h4>
      {noteWords(data.notes).map(({ text }) => (
        <p key={text} className="warning">
          {text}
        </p>
      ))}
      {furtherCautions(result.cautions)
        .map(cautionSentence)
        .map((sentence) => (
          <p key={sentence} className="warning">
            {sentence}
          </p>
        ))}
      <ChargeFigures charges={charges} />
      <p>{endWords[result.endReason]}</p>
      {result.series !== null && (
        <ChartFigure
          picture={cellPicture(
            say('pairings.voltageOfEachCell'),
            { label: say('pairings.voltage'), unit: 'V' },
            charges,
            'voltageV',
          )}
        />
      )}
      {result.stackOnly?.series != null && <StackOnlyView result={result} voltageLimitV={null} />}
    </section>
  );
}
