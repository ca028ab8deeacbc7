/** What the intervals of a converter's parameters take for the meters that read its points: as stated, or in part assumed. */
export const metersSentences = {
  stated:
    'The intervals use the meters’ stated standard uncertainty: {{percent}} % of each reading, {{mv}} mV and {{ma}} mA of constant error.',
  assumed:
    'The intervals assume that the meters’ standard uncertainty is {{percent}} % of each reading, {{mv}} mV and {{ma}} mA of constant error. With worse meters they are too narrow: state yours.',
} as const;
