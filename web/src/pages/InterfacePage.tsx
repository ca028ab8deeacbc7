import { PageHead } from '../parts/PageHead.tsx';
import { say } from '../words/i18n.ts';

/** Where programs find the same things as the pages. */
export default function InterfacePage() {
  return (
    <>
      <PageHead title={say('general.forPrograms')} about={say('general.everythingOnThesePagesCanBe')} />
      <h2>{say('general.http')}</h2>
      <p>
        {say('general.allAddressesBeginWith')} <code>{say('general.apiV1')}</code>
        {say('general.theWholeInterfaceCanBe')} <a href="/api/docs">{say('general.readAsAPage')}</a>{' '}
        {say('general.andIsDescribedAsOpenapi3')}{' '}
        <a href="/api/v1/openapi.json">{say('general.openapiJson')}</a>
        {say('general.refusalsAreProblemDetailsRfc9457')}
      </p>
      <ul>
        <li>
          {say('general.aChangeOfAStoredThing')} <code>{say('general.ifMatch')}</code>{' '}
          {say('general.withTheVersionThatWasRead')}
        </li>
        <li>
          {say('general.aRequestThatCreatesSomethingMay')} <code>{say('general.idempotencyKey')}</code>
          {say('general.repeatedItDoesItsWorkOnce')}
        </li>
        <li>
          {say('general.longWorkAnswersWithAJob')} <code>{say('general.apiV1JobsIdEvents')}</code>{' '}
          {say('general.tellsItsProgressAsServerSent')}
        </li>
      </ul>
      <h2>{say('general.command')}</h2>
      <p>
        <code>{say('general.npmRunSilentGemelHelp')}</code> {say('general.listsTheCommandsWith')}{' '}
        <code>{say('general.json')}</code> {say('general.eachPrintsADocumentForMachines')}
      </p>
      <h2>{say('general.numbersInBoth')}</h2>
      <p>
        {say('general.theUnitIsInTheName')}
        <code>{say('general.currenta')}</code>, <code>{say('general.resistanceohm')}</code>
        {say('general.currentIsPositiveOnChargeA')} <code>{say('general.null')}</code>{' '}
        {say('general.withAReasonBesideIt')}
      </p>
    </>
  );
}
