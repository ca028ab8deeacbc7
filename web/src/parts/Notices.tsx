import { Button } from '@mantine/core';
import { createContext, type ReactNode, useCallback, useContext, useEffect, useMemo, useState } from 'react';
import { say } from '../words/i18n.ts';

export interface Notice {
  readonly text: string;
  /** Takes back what was done. */
  readonly undo?: () => Promise<unknown> | unknown;
}

const Tell = createContext<(notice: Notice) => void>(() => undefined);

const shownForMs = 15_000;

/** Says what was done, with the way back: things happen at once and can be undone, instead of being asked about. */
export function NoticeProvider({ children }: { children: ReactNode }) {
  const [notice, setNotice] = useState<Notice | null>(null);
  const [failed, setFailed] = useState<string | null>(null);
  useEffect(() => {
    if (notice === null) return;
    const timer = setTimeout(() => setNotice(null), shownForMs);
    return () => clearTimeout(timer);
  }, [notice]);
  const tell = useCallback((next: Notice) => {
    setFailed(null);
    setNotice(next);
  }, []);
  const undo = async () => {
    try {
      await notice?.undo?.();
      setNotice(null);
    } catch (error) {
      setFailed(error instanceof Error ? error.message : String(error));
    }
  };
  const value = useMemo(() => tell, [tell]);
  return (
    <Tell.Provider value={value}>
      {children}
      <div className="notices" role="status" aria-live="polite">
        {notice !== null && (
          <div className="notice">
            <span>{failed ?? notice.text}</span>
            {notice.undo !== undefined && failed === null && (
              <Button size="compact-sm" variant="white" onClick={() => void undo()}>
                {say('general.undo')}
              </Button>
            )}
            <Button
              size="compact-sm"
              variant="subtle"
              className="notice-close"
              onClick={() => setNotice(null)}
            >
              {say('general.close')}
            </Button>
          </div>
        )}
      </div>
    </Tell.Provider>
  );
}

/** Says something that was done; with `undo`, offers to take it back. */
export function useNotice(): (notice: Notice) => void {
  return useContext(Tell);
}
