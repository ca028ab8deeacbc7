import { z } from 'zod';
import * as ageingAssessment from '../contract/ageingAssessment.ts';
import * as ageingResult from '../contract/ageingResult.ts';
import * as ageingTrack from '../contract/ageingTrack.ts';
import * as capacity from '../contract/capacity.ts';
import * as cautions from '../contract/cautions.ts';
import * as cells from '../contract/cells.ts';
import * as cellTables from '../contract/cellTables.ts';
import * as cellTypes from '../contract/cellTypes.ts';
import * as chargeLogResult from '../contract/chargeLogResult.ts';
import * as chargeLogWords from '../contract/chargeLogWords.ts';
import * as chargeRates from '../contract/chargeRates.ts';
import * as chargeStudies from '../contract/chargeStudies.ts';
import * as chargeStudy from '../contract/chargeStudy.ts';
import * as chargeStudyResult from '../contract/chargeStudyResult.ts';
import * as chargeSupply from '../contract/chargeSupply.ts';
import * as chemistries from '../contract/chemistries.ts';
import * as columnMaps from '../contract/columnMaps.ts';
import * as columnRoles from '../contract/columnRoles.ts';
import * as common from '../contract/common.ts';
import * as evaluatedPulse from '../contract/evaluatedPulse.ts';
import * as exportFormats from '../contract/exportFormats.ts';
import * as exportsContract from '../contract/exports.ts';
import * as fileSamples from '../contract/fileSamples.ts';
import * as gauge from '../contract/gauge.ts';
import * as heatBalance from '../contract/heatBalance.ts';
import * as impedance from '../contract/impedance.ts';
import * as importContract from '../contract/import.ts';
import * as jobs from '../contract/jobs.ts';
import * as joinedRuns from '../contract/joinedRuns.ts';
import * as limitName from '../contract/limitName.ts';
import * as liveRecords from '../contract/liveRecords.ts';
import * as liveStackLogs from '../contract/liveStackLogs.ts';
import * as lotLine from '../contract/lotLine.ts';
import * as lots from '../contract/lots.ts';
import * as measurements from '../contract/measurements.ts';
import * as meterWords from '../contract/meterWords.ts';
import * as namePatterns from '../contract/namePatterns.ts';
import * as openCircuit from '../contract/openCircuit.ts';
import * as overview from '../contract/overview.ts';
import * as pairingCriteria from '../contract/pairingCriteria.ts';
import * as pairingProposal from '../contract/pairingProposal.ts';
import * as pairingResult from '../contract/pairingResult.ts';
import * as pairings from '../contract/pairings.ts';
import * as parameterSet from '../contract/parameterSet.ts';
import * as publishedLaws from '../contract/publishedLaws.ts';
import * as pulseLimits from '../contract/pulseLimits.ts';
import * as pulseRecord from '../contract/pulseRecord.ts';
import * as readingOptions from '../contract/readingOptions.ts';
import * as reasons from '../contract/reasons.ts';
import * as residualChecks from '../contract/residualChecks.ts';
import * as resistanceMethods from '../contract/resistanceMethods.ts';
import * as stackLife from '../contract/stackLife.ts';
import * as stackLogEvaluations from '../contract/stackLogEvaluations.ts';
import * as stackLogs from '../contract/stackLogs.ts';
import * as stacks from '../contract/stacks.ts';
import * as supplyParts from '../contract/supplyParts.ts';
import * as takenParameters from '../contract/takenParameters.ts';
import * as temperature from '../contract/temperature.ts';
import * as tests from '../contract/tests.ts';
import * as travellers from '../contract/travellers.ts';
import * as ucum from '../contract/ucum.ts';

/** The modules of the contract by file name; the description names their schemas. */
export const contractModules: Readonly<Record<string, Readonly<Record<string, unknown>>>> = {
  residualChecks,
  publishedLaws,
  ageingTrack,
  ageingResult,
  ageingAssessment,
  capacity,
  cautions,
  cells,
  cellTables,
  cellTypes,
  chargeLogResult,
  chargeLogWords,
  chargeRates,
  chargeStudies,
  chargeStudy,
  chargeStudyResult,
  chargeSupply,
  chemistries,
  columnMaps,
  columnRoles,
  common,
  exportFormats,
  fileSamples,
  limitName,
  exports: exportsContract,
  heatBalance,
  gauge,
  impedance,
  import: importContract,
  jobs,
  joinedRuns,
  liveRecords,
  liveStackLogs,
  lotLine,
  lots,
  measurements,
  namePatterns,
  overview,
  pairingCriteria,
  pairingProposal,
  pairingResult,
  pairings,
  parameterSet,
  evaluatedPulse,
  resistanceMethods,
  meterWords,
  openCircuit,
  pulseRecord,
  readingOptions,
  reasons,
  pulseLimits,
  stackLife,
  stackLogEvaluations,
  stackLogs,
  stacks,
  supplyParts,
  takenParameters,
  temperature,
  tests,
  travellers,
  ucum,
};

function capitalised(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** Whether a schema is large enough to have a name of its own in the description. */
function deservesName(schema: z.ZodType): boolean {
  return (
    schema instanceof z.ZodObject ||
    schema instanceof z.ZodUnion ||
    (schema instanceof z.ZodEnum && schema.options.length > 20)
  );
}

/**
 * The names under which the contract's schemas stand in the description: the exported name with a capital, with the
 * module before it where two modules use the same name.
 */
export function namedSchemas(): Map<z.ZodType, string> {
  const found: { module: string; name: string; schema: z.ZodType }[] = [];
  for (const [module, exported] of Object.entries(contractModules)) {
    for (const [name, value] of Object.entries(exported)) {
      if (value instanceof z.ZodType && deservesName(value)) found.push({ module, name, schema: value });
    }
  }
  const uses = new Map<string, number>();
  for (const { name } of found) uses.set(name, (uses.get(name) ?? 0) + 1);
  const named = new Map<z.ZodType, string>();
  for (const { module, name, schema } of found) {
    if (named.has(schema)) continue;
    named.set(
      schema,
      (uses.get(name) ?? 0) > 1 ? capitalised(module) + capitalised(name) : capitalised(name),
    );
  }
  return named;
}
