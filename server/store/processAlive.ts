/** Whether a process with this number runs on this machine. */
export function isProcessAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    // A process of another user may not be signalled, but it is there.
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}
