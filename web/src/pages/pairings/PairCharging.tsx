import { Button } from '@mantine/core';
import { useState } from 'react';
import { furtherCautions } from '../../../../server/contract/cautions.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { significant } from '../../format/number.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { endWords } from '../../words/charge.ts';
import { ChargeFigures } from '../charge/ChargeFigures.tsx';
import { StackOnlyView } from '../charge/StackOnlyView.tsx';
import { cellPicture } from '../charge/studyPictures.ts';

/** How a pair would charge in series, computed when it is asked for. */
export function PairCharging({ pairId, name }: { pairId: number; name: string }) {
  const [wanted, setWanted] = useState(false);
  const { data, error, again } = useRequest(wanted ? '/pairs/{id}/charge' : null, { params: { id: pairId } });
  if (!wanted) {
    return (
      <Button size="compact-sm" variant="default" mb={8} onClick={() => setWanted(true)}>
        Compute how this pair charges
      </Button>
    );
  }
  if (data === undefined) return error === null ? <Waiting /> : <Problem error={error} again={again} />;
  const { result } = data;
  const charges = [{ name, result }];
  return (
    <section aria-label={`Charge of ${name}`}>
      <h4>
        Charged at {significant(data.chargeCurrentA, 3)} A, each cell watched
        {data.limitsCharge !== null && `: ${data.limitsCharge} meets its voltage limit first`}
      </h4>
      {data.notes.map((note) => (
        <p key={note.code + note.message} className="warning">
          {note.message}
        </p>
      ))}
      {furtherCautions(result.cautions).map((sentence) => (
        <p key={sentence} className="warning">
          {sentence}
        </p>
      ))}
      <ChargeFigures charges={charges} />
      <p>{endWords[result.endReason]}</p>
      {result.series !== null && (
        <ChartFigure
          picture={cellPicture('Voltage of each cell', { label: 'Voltage', unit: 'V' }, charges, 'voltageV')}
        />
      )}
      {result.stackOnly?.series != null && <StackOnlyView result={result} voltageLimitV={null} />}
    </section>
  );
}
