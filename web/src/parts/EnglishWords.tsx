import { say } from '../words/i18n.ts';

/** The exact words of the service, where the page says the same in another language: English, and opened by who wants them. */
export function EnglishWords({ text }: { text: string }) {
  return (
    <details>
      <summary>{say('general.exactWordsInEnglish')}</summary>
      <p lang="en">{text}</p>
    </details>
  );
}
