// What the fields of a form need to know besides their own value.
import { useMemo } from 'react';

import { useStore } from '../data/store.ts';
import type { Around } from './fields.tsx';
import { isObject } from '../data/pointer.ts';

/// `owner`: whose fields they are, in words.
export function useAround(owner: string): Around {
  const project = useStore((s) => s.project);
  const parts = useStore((s) => s.result?.design.assessment?.parts);
  return useMemo(() => {
    const bodies = Array.isArray(project?.document.bodies) ? project.document.bodies : [];
    const kinds = new Map((parts ?? []).map((p) => [p.part, p.name]));
    return {
      owner,
      problems: project?.problems ?? [],
      bodies: bodies.map((b) => (isObject(b) && typeof b.id === 'string' ? b.id : '')).filter((b) => b !== ''),
      parts: [...kinds].map(([part, name]) => ({ part, name })),
    };
  }, [owner, project, parts]);
}
