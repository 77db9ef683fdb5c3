// What a remedy changes, from the words of the result into edits of the project as it stands now.
import type { Change, Edit, Json, JsonObject } from '../contract.ts';
import { at, isObject, join } from './pointer.ts';

/// Entries are named by their id; reserves, which have none, by their reason. -1 = there is none, or more than one.
function indexOf(list: Json | undefined, id: string): number {
  if (!Array.isArray(list)) return -1;
  const found = list.flatMap((e, i) => (isObject(e) && (e.id ?? e.reason) === id ? [i] : []));
  return found.length === 1 ? (found[0] ?? -1) : -1;
}

/// Null when the project has no place for one of the changes; then none of them is offered.
export function editsOf(changes: readonly Change[], document: JsonObject): Edit[] | null {
  const edits: Edit[] = [];
  const removed: { table: string; index: number }[] = [];
  for (const c of changes) {
    const list = document[c.table];
    if (c.op === 'add') {
      if (list !== undefined && !Array.isArray(list)) return null;
      edits.push({ op: 'insert', at: join(c.table, '-'), value: c.value as Json });
      continue;
    }
    if (c.id === '') {
      // A table that stands alone: only a key that is told there is changed, or one that stands on its own.
      const place = join(c.table, ...c.key.split('/'));
      if (c.table === 'support' && at(document, place) === undefined) return null;
      edits.push({ op: 'set', at: place, value: c.value as Json });
      continue;
    }
    const index = indexOf(list, c.id);
    if (index < 0) return null;
    if (c.op === 'remove') removed.push({ table: c.table, index });
    else edits.push({ op: 'set', at: join(c.table, index, ...c.key.split('/')), value: c.value as Json });
  }
  // Last, and from the end of each list, so that the places above still hold when their turn comes.
  removed.sort((a, b) => b.index - a.index);
  for (const r of removed) edits.push({ op: 'remove', at: join(r.table, r.index) });
  return edits.length > 0 ? edits : null;
}
