import { Button, NativeSelect } from '@mantine/core';
import { useMemo } from 'react';
import { Link, useNavigate, useParams } from 'react-router';
import type { StoredPairing } from '../../../../server/contract/pairings.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { instant } from '../../format/time.ts';
import { Cautions } from '../../parts/Cautions.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { Waiting } from '../../parts/Waiting.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { featureWords } from '../../words/quantities.ts';
import { Alternatives } from './Alternatives.tsx';
import { Comparison } from './Comparison.tsx';
import { LeftOver } from './LeftOver.tsx';
import { PairCharging } from './PairCharging.tsx';
import { PairDetails } from './PairDetails.tsx';
import { PairingAnswer } from './PairingAnswer.tsx';
import { PairTable } from './PairTable.tsx';
import { costPicture, outsidePicture, pairScatterPicture, toleranceOf } from './pairingPictures.ts';
import { setWords } from './setWords.ts';
import { warningSentence } from './warnings.ts';
import { whyThisPair } from './whyThisPair.ts';

export default function PairingPage() {
  const { id = '' } = useParams();
  const pairing = useRequest('/pairings/{id}', { params: { id } });
  const { data } = pairing;
  if (data === undefined) {
    return pairing.loading ? <Waiting /> : <Problem error={pairing.error} again={pairing.again} />;
  }
  return (
    <>
      <PageHead
        title={data.name}
        within={[{ name: say('pairings.pairing'), path: '/pairings' }]}
        about={say('pairings.createdAtByCreatedByFeatures', {
          createdAt: instant(data.createdAt),
          createdBy: data.createdBy,
          features: data.result.features.map((f) => featureWords(f.name)).join(say('pairings.and')),
        })}
        actions={
          <>
            <Button component={Link} variant="default" to={`/pairings/${data.id}/report`}>
              {say('pairings.report')}
            </Button>
            <Button
              component={Link}
              variant="default"
              to={`/exports?subjectKind=pairing&subjectId=${data.id}&new=yes`}
            >
              {say('pairings.export')}
            </Button>
            <Button component={Link} variant="default" to={`/pairings/new?lots=${data.lotIds.join(',')}`}>
              {say('pairings.pairAgainWithOtherCriteria')}
            </Button>
          </>
        }
      />
      <PairingAnswer pairing={data} />
      <Body pairing={data} />
    </>
  );
}

function Body({ pairing }: { pairing: StoredPairing }) {
  const { result } = pairing;
  const words = setWords(result.criteria.cellsPerStack);
  const [units] = useUnits();
  const names = result.features.map((f) => f.name);
  const [x, setX] = useUrlState('x', names[0] ?? '');
  const [y, setY] = useUrlState('y', names[1] ?? names[0] ?? '');
  const [open, setOpen] = useUrlState('pair');
  const scatter = useMemo(() => pairScatterPicture(pairing, x, y, units, open), [pairing, x, y, units, open]);
  const opened = pairing.pairs.find((p) => String(p.id) === open);
  const go = useNavigate();
  const openPoint = (name: string) => {
    const cell = pairing.inputs.find((i) => i.cell === name);
    const pair = pairing.pairs.find((p) =>
      p.cells.some((c) => name.startsWith(say('pairings.serialWith', { serial: c.serial }))),
    );
    if (cell !== undefined) void go(`/cells/${cell.cellId}`);
    else if (pair !== undefined) setOpen(String(pair.id));
  };
  return (
    <>
      {scatter !== null && (
        <ChartFigure
          picture={scatter}
          height={240}
          onPoint={openPoint}
          note={words.lines(outsideWords(outsidePicture(scatter)))}
        />
      )}
      {opened !== undefined && <p role="status">{whyThisPair(opened, result)}</p>}
      <h2>{words.title}</h2>
      {result.warnings.map((w) => (
        <p key={`${w.code} ${w.feature}`} className="warning">
          {warningSentence(w)}
        </p>
      ))}
      <Cautions />
      <PairTable pairing={pairing} open={open} onOpen={setOpen} />
      {opened !== undefined && (
        <PairDetails pair={opened.detail} result={result}>
          <PairCharging key={opened.cells.map((c) => c.id).join()} pair={opened} />
        </PairDetails>
      )}
      {names.length > 1 && (
        <details>
          <summary>{say('pairings.otherAxes')}</summary>
          <div className="sheet-tools">
            <NativeSelect
              size="xs"
              label={say('pairings.xAxis')}
              data={names.map((name) => ({ value: name, label: featureWords(name) }))}
              value={x}
              onChange={(e) => setX(e.currentTarget.value)}
            />
            <NativeSelect
              size="xs"
              label={say('pairings.yAxis')}
              data={names.map((name) => ({ value: name, label: featureWords(name) }))}
              value={y}
              onChange={(e) => setY(e.currentTarget.value)}
            />
          </div>
        </details>
      )}
      <LeftOver result={result} />
      <div className="charts">
        {result.toleranceChart.length > 1 && (
          <ChartFigure picture={toleranceOf(result)} note={say('pairings.whatTighteningOrRelaxingAllPair')} />
        )}
        {result.pairs.length > 1 && <ChartFigure picture={costPicture(result)} />}
      </div>
      {result.criteria.cellsPerStack > 2 && <p>{say('groups.notComparedForGroups')}</p>}
      <Comparison result={result} />
      <Alternatives result={result} />
    </>
  );
}

function outsideWords(outside: readonly string[]): string {
  return outside.length === 0
    ? ''
    : say('pairings.leftOverOutsideThePictureOutside', {
        outside: outside.slice(0, 6).join(', '),
        word: outside.length > 6 ? ', …' : '',
      });
}
