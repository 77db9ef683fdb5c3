// Facts of the present result that several views show; looked up, not computed.
import type { FunctionResult, Job, JsonObject } from '../contract.ts';
import { type State, useStore } from './store.ts';
import { isObject } from './pointer.ts';

export interface FunctionEntry {
  index: number;
  id: string;
  kind: string;
  value: JsonObject;
  result: FunctionResult | null;
}

export function entries(s: State): FunctionEntry[] {
  const list = s.project?.document.functions;
  const found = s.result?.design.functions ?? [];
  return (Array.isArray(list) ? list : []).map((raw, index) => {
    const value = isObject(raw) ? raw : {};
    const id = typeof value.id === 'string' ? value.id : `function ${index + 1}`;
    return {
      index,
      id,
      kind: typeof value.kind === 'string' ? value.kind : '',
      value,
      result: found.find((f) => f.id === id) ?? null,
    };
  });
}

/// The numbers shown belong to an older text than the one in the forms.
export function stale(s: State): boolean {
  if (!s.result || !s.project) return false;
  return s.saving > 0 || s.result.revision !== s.project.revision;
}

export function busy(job: Job | null): boolean {
  return job !== null && (job.state === 'running' || job.state === 'waiting');
}
export function useBusy(): boolean {
  return useStore((s) => busy(s.job));
}

export function useStale(): boolean {
  return useStore(stale);
}

export function leftOut(s: State, id: string): boolean {
  const design = s.result?.design;
  const f = design?.functions?.find((x) => x.id === id);
  return design?.allocation?.feasible === true && f !== undefined && !f.chosen;
}
