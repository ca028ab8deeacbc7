import { say } from '../words/i18n.ts';
/** Stands below a table that is wider than a phone; seen only while columns are hidden to the right (touch.css). */
export function MoreSideways() {
  return (
    <p className="sideways" aria-hidden="true">
      {say('general.moreColumnsSwipeTheTable')}
    </p>
  );
}
