import { Said } from './Said.tsx';

/** Why a job ended without a result. */
export function JobError({ error }: { error: string }) {
  return (
    <p className="problem">
      <Said text={error} />
    </p>
  );
}
