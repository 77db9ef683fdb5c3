// Facts of the present result that several views show; looked up, not computed.
import type { FunctionResult, Job, JsonObject, Offer } from '../contract.ts';
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

/// What is already known of a function while the design of exactly the text in the forms is computed. `settled`: its
/// candidate is chosen; otherwise the allocation may still take another one.
export function earlyOf(s: State, id: string): (Offer & { settled: boolean }) | null {
  if (!s.early || !s.project || s.saving > 0 || s.early.revision !== s.project.revision) return null;
  if (s.result?.revision === s.project.revision) return null; // the design itself is there
  const offer = s.early.functions.find((f) => f.id === id);
  return offer ? { ...offer, settled: s.early.settled } : null;
}

/// Of which candidate early figures are, and what may still become of it.
export function earlyText(early: Offer & { settled: boolean }): string {
  if (early.settled) return 'New figures; the machine as a whole is still being judged.';
  return early.which === 'same'
    ? 'New figures of the way chosen before. Parts are not allotted yet: another way may still be taken.'
    : 'New figures of the best way on its own. Parts are not allotted yet: another way may still be taken.';
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
