import { say } from '../words/i18n.ts';
/** Said while something is fetched; appears only when it takes noticeably long (see notebook.css). */
export function Waiting({ what = say('general.fetching') }: { what?: string }) {
  return (
    <p className="waiting" role="status">
      {what}
    </p>
  );
}
