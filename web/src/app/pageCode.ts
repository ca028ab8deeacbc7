const firstTryMs = 400;
const tryEveryMs = 2_000;

/** Fetches the code of a page; once more after a moment, because a connection may fail for an instant. */
export async function fetchPageCode<T>(load: () => Promise<T>): Promise<T> {
  try {
    return await load();
  } catch {
    await new Promise((resolve) => setTimeout(resolve, firstTryMs));
    return await load();
  }
}

/**
 * Asks until the server serves pages again, then reloads this one: after an update its files have other names, and a
 * browser may remember that a file could not be fetched.
 *
 * @param tried is called after each time without an answer
 * @returns stops asking
 */
export function reloadOnceServed(tried: () => void): () => void {
  const timer = setInterval(async () => {
    try {
      const answer = await fetch(location.pathname, { headers: { accept: 'text/html' }, cache: 'no-store' });
      if (answer.ok) location.reload();
      else tried();
    } catch {
      tried();
    }
  }, tryEveryMs);
  return () => clearInterval(timer);
}
