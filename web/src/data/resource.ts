// Answers that a view asks for by address, kept until the project's result changes. Leaving a view and coming back costs
// nothing, and an answer that arrives late is dropped.
import { useEffect, useState } from 'react';

import { ApiError } from './api.ts';

export interface Resource<T> {
  value: T | null;
  loading: boolean;
  fault: ApiError | null;
  again: () => void;
}

const kept = new Map<string, unknown>();
const kMost = 60; // answers; the largest is about 1.5 MB

export function forget(): void {
  kept.clear();
}

/// `key` null = nothing to ask. The last value stays while a new key loads, so that a view does not flicker.
export function useResource<T>(key: string | null, load: (signal: AbortSignal) => Promise<T>): Resource<T> {
  const [entry, setEntry] = useState<{ key: string | null; value: T | null; fault: ApiError | null; loading: boolean }>(
    () => ({
      key,
      value: key !== null && kept.has(key) ? (kept.get(key) as T) : null,
      fault: null,
      loading: key !== null,
    }),
  );
  const [round, setRound] = useState(0);
  useEffect(() => {
    if (key === null) {
      setEntry({ key, value: null, fault: null, loading: false });
      return undefined;
    }
    if (kept.has(key)) {
      setEntry({ key, value: kept.get(key) as T, fault: null, loading: false });
      return undefined;
    }
    const stop = new AbortController();
    setEntry((e) => ({ ...e, fault: null, loading: true }));
    load(stop.signal).then(
      (value) => {
        if (stop.signal.aborted) return;
        if (kept.size >= kMost) kept.delete(kept.keys().next().value as string);
        kept.set(key, value);
        setEntry({ key, value, fault: null, loading: false });
      },
      (error: unknown) => {
        if (stop.signal.aborted) return;
        const fault =
          error instanceof ApiError ? error : new ApiError(0, 'This could not be shown.', String(error), null);
        setEntry({ key, value: null, fault, loading: false });
      },
    );
    return () => stop.abort();
    // `load` is made anew on each draw; the key says all that it depends on.
    // eslint-disable-next-line react-hooks/exhaustive-deps
  }, [key, round]);
  return {
    value: entry.value,
    loading: entry.loading,
    fault: entry.fault,
    again: () => {
      if (key !== null) kept.delete(key);
      setRound((r) => r + 1);
    },
  };
}
