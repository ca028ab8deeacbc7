import type { StudyInputs } from './studyInputs.ts';

export interface StudyFieldsProps {
  readonly inputs: StudyInputs;
  readonly onChange: (inputs: StudyInputs) => void;
}
