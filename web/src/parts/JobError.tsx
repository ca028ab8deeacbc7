/** Why a job ended without a result, in the words of the service, which are English. */
export function JobError({ error }: { error: string }) {
  return (
    <p className="problem" lang="en">
      {error}
    </p>
  );
}
