// JSON pointers (RFC 6901) and edits on plain data; inputs are never changed.
import type { Edit, Json, JsonObject } from '../contract.ts';

export function isObject(v: unknown): v is JsonObject {
  return v !== null && typeof v === 'object' && !Array.isArray(v);
}

export function split(at: string): string[] {
  return at === ''
    ? []
    : at
        .slice(1)
        .split('/')
        .map((k) => k.replaceAll('~1', '/').replaceAll('~0', '~'));
}

export function join(...keys: (string | number)[]): string {
  return keys.map((k) => '/' + String(k).replaceAll('~', '~0').replaceAll('/', '~1')).join('');
}

export function at(value: Json | undefined, pointer: string): Json | undefined {
  let node: Json | undefined = value;
  for (const key of split(pointer)) {
    if (node === null || typeof node !== 'object') return undefined;
    node = Array.isArray(node) ? node[Number(key)] : node[key];
  }
  return node;
}

function changed(node: Json | undefined, keys: string[], edit: Edit, otherwise: Json): Json {
  const [key, ...rest] = keys;
  if (key === undefined) return edit.op === 'remove' ? null : edit.value;
  const base = node === undefined || node === null || typeof node !== 'object' ? otherwise : node;
  if (Array.isArray(base)) {
    const list = [...base];
    const index = key === '-' ? list.length : Number(key);
    if (rest.length > 0) list[index] = changed(list[index], rest, edit, {});
    else if (edit.op === 'remove') list.splice(index, 1);
    else if (edit.op === 'insert') list.splice(index, 0, edit.value);
    else list[index] = edit.value;
    return list;
  }
  const object: JsonObject = { ...(base as JsonObject) };
  if (rest.length > 0) object[key] = changed(object[key], rest, edit, rest[0] === '-' || rest[0] === '0' ? [] : {});
  else if (edit.op === 'remove') delete object[key];
  else object[key] = edit.value;
  return object;
}

/// What the document looks like after the edits, as the server will write it.
export function apply(document: JsonObject, edits: Edit[]): JsonObject {
  return edits.reduce<Json>((node, edit) => changed(node, split(edit.at), edit, {}), document) as JsonObject;
}
