// Reads the project's JSON schema into what a form needs to know. Only the schema's own words are used, so a kind or a key
// that is added later appears in the forms without a change here.
import type { Json, JsonObject } from '../contract.ts';

export type Sort =
  | { is: 'number'; whole: boolean; low?: number; high?: number }
  | { is: 'triple'; low?: number; high?: number }
  | { is: 'flag' }
  | { is: 'choice'; of: string[] }
  | { is: 'text' }
  | { is: 'words' } ///< text, a list of texts, or a count
  | { is: 'vector'; size: number; low?: number; high?: number }
  | { is: 'numbers'; whole: boolean }
  | { is: 'points' } ///< a list of places, each a few numbers
  | { is: 'group'; fields: Field[] }
  | { is: 'rows'; of: JsonObject }
  | { is: 'other' };

export interface Field {
  key: string;
  sort: Sort;
  unit: string;
  note: string;
  required: boolean;
  usual: Json | undefined; ///< default, a value or words about it
  schema: JsonObject;
}

const object = (v: Json | undefined): JsonObject => (v !== null && typeof v === 'object' && !Array.isArray(v) ? v : {});
const list = (v: Json | undefined): Json[] => (Array.isArray(v) ? v : []);
const maybeNumber = (v: Json | undefined) => (typeof v === 'number' ? v : undefined);

function bounds(s: JsonObject): { low?: number; high?: number } {
  return { low: maybeNumber(s.minimum), high: maybeNumber(s.maximum) };
}

export function sortOf(s: JsonObject): Sort {
  const choices = list(s.enum).filter((e) => typeof e === 'string');
  if (choices.length > 0) return { is: 'choice', of: choices };
  const either = list(s.oneOf ?? s.anyOf).map(object);
  if (either.length > 0) {
    const triple = either.find((e) => 'nominal' in object(e.properties));
    const plain = either.find((e) => e.type === 'number' || e.type === 'integer');
    if (triple && plain) return { is: 'triple', ...bounds(plain) };
    if (either.some((e) => e.type === 'string')) return { is: 'words' };
    if (either.some((e) => e.type === 'array' && object(e.items).type !== 'object')) {
      return { is: 'numbers', whole: either.some((e) => e.type === 'integer') };
    }
    return { is: 'other' };
  }
  switch (s.type) {
    case 'number':
      return { is: 'number', whole: false, ...bounds(s) };
    case 'integer':
      return { is: 'number', whole: true, ...bounds(s) };
    case 'boolean':
      return { is: 'flag' };
    case 'string':
      return { is: 'text' };
    case 'object':
      return { is: 'group', fields: fieldsOf(s) };
    case 'array': {
      const item = object(s.items);
      if (item.type === 'object') return { is: 'rows', of: item };
      if (item.type === 'string') return { is: 'words' };
      if (item.type === 'array' && ['number', 'integer'].includes(String(object(item.items).type)))
        return { is: 'points' };
      const size = maybeNumber(s.maxItems);
      if (item.type === 'number' || item.type === 'integer') {
        return size !== undefined && size <= 3
          ? { is: 'vector', size, ...bounds(item) }
          : { is: 'numbers', whole: item.type === 'integer' };
      }
      return { is: 'other' };
    }
    default:
      return { is: 'other' };
  }
}

export function fieldsOf(s: JsonObject): Field[] {
  const required = new Set(list(s.required));
  return Object.entries(object(s.properties)).map(([key, raw]) => {
    const field = object(raw);
    return {
      key,
      sort: sortOf(field),
      unit: typeof field['x-unit'] === 'string' ? field['x-unit'] : '',
      note: typeof field.description === 'string' ? field.description : '',
      required: required.has(key),
      usual: field.default,
      schema: field,
    };
  });
}

export function section(schema: JsonObject, key: string): JsonObject {
  return object(object(schema.properties)[key]);
}

export interface KindInfo {
  kind: string;
  note: string;
  wants: JsonObject;
}

/// Every kind the schema knows, with the schema of its wants.
export function kindsOf(schema: JsonObject): KindInfo[] {
  const item = object(section(schema, 'functions').items);
  return list(item.allOf)
    .map(object)
    .flatMap((rule) => {
      const kind = object(object(object(rule.if).properties).kind).const;
      const wants = object(object(object(rule.then).properties).wants);
      if (typeof kind !== 'string') return [];
      return [{ kind, note: typeof wants.description === 'string' ? wants.description : '', wants }];
    });
}

export function functionFields(schema: JsonObject): Field[] {
  return fieldsOf(object(section(schema, 'functions').items)).filter((f) => f.key !== 'wants');
}

/// A first value to begin with when a key is added to the file: the schema's default if it is one, else the plainest.
export function firstValue(field: Field): Json {
  const { sort, usual } = field;
  const near = (low?: number, high?: number) => Math.min(Math.max(0, low ?? 0), high ?? Infinity);
  switch (sort.is) {
    case 'number':
      return typeof usual === 'number' ? usual : near(sort.low, sort.high);
    case 'triple':
      return typeof usual === 'number' ? usual : near(sort.low, sort.high);
    case 'flag':
      return typeof usual === 'boolean' ? usual : true;
    case 'choice':
      return typeof usual === 'string' && sort.of.includes(usual) ? usual : (sort.of[0] ?? '');
    case 'vector':
      return Array.isArray(usual) ? usual : Array.from({ length: sort.size }, () => near(sort.low, sort.high));
    case 'points':
      return [];
    case 'numbers':
      return Array.isArray(usual) ? usual : [];
    case 'group':
      return firstObject(field.schema);
    case 'rows':
      return [firstObject(sort.of)];
    case 'words':
      return usual !== undefined && typeof usual !== 'object' ? usual : '';
    case 'text':
      return '';
    case 'other':
      return usual ?? '';
  }
}

export function firstObject(schema: JsonObject): JsonObject {
  return Object.fromEntries(
    fieldsOf(schema)
      .filter((f) => f.required)
      .map((f) => [f.key, firstValue(f)]),
  );
}

/// The default in words, for a key that is left out.
export function usualText(field: Field): string {
  const u = field.usual;
  if (u === undefined) return '';
  if (typeof u === 'string') return u;
  if (typeof u === 'boolean') return u ? 'yes' : 'no';
  return JSON.stringify(u).replaceAll('"', '');
}

// ---- text <-> value --------------------------------------------------------------------------------------------------

/// What was typed, as a value. A decimal comma counts. Text that is no number stays text: the server says what is wrong with
/// it, and nothing typed is lost.
export function numberFrom(text: string): Json | undefined {
  const t = text.trim().replace('\u2212', '-');
  if (t === '') return undefined;
  const plain = /^[+-]?\d+,\d+$/.test(t) ? t.replace(',', '.') : t;
  const value = Number(plain);
  return Number.isFinite(value) ? value : t;
}

export function numbersFrom(text: string): Json | undefined {
  const parts = text
    .split(/[;\s]+|,(?=\s)|,(?!\d+$)/)
    .map((p) => p.trim())
    .filter((p) => p !== '');
  if (parts.length === 0) return undefined;
  return parts.flatMap((p) => p.split(',')).map((p) => numberFrom(p) ?? 0);
}

/// Places, one after another with semicolons: "60, 50; -60, 50".
export function pointsFrom(text: string): Json | undefined {
  const places = text
    .split(';')
    .map((p) => p.trim())
    .filter((p) => p !== '');
  return places.length === 0 ? undefined : places.map((p) => numbersFrom(p) ?? []);
}

export function pointsText(value: Json | undefined): string {
  return Array.isArray(value) ? value.map(valueText).join('; ') : valueText(value);
}

export function wordsFrom(text: string): Json | undefined {
  const parts = text
    .split(',')
    .map((p) => p.trim())
    .filter((p) => p !== '');
  if (parts.length === 0) return undefined;
  if (parts.length > 1) return parts;
  const one = parts[0] ?? '';
  return /^\d+$/.test(one) ? Number(one) : one;
}

export function valueText(value: Json | undefined): string {
  if (value === undefined || value === null) return '';
  if (Array.isArray(value)) return value.map(valueText).join(', ');
  return typeof value === 'object' ? JSON.stringify(value) : String(value);
}
