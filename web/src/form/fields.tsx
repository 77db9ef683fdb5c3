// One row of a generated form: name, note, the control that suits the schema, and what the server says about the value.
import { ActionIcon, Autocomplete, Button, NativeSelect, SegmentedControl, TextInput } from '@mantine/core';
import { useEffect, useId, useRef, useState } from 'react';

import type { FileProblem, Json, JsonObject } from '../contract.ts';
import { isObject, join } from '../data/pointer.ts';
import { edit, problemsAt } from '../data/store.ts';
import { label, sentence, told, unitText, words } from '../data/format.ts';
import { Glyph } from '../parts/glyph.tsx';
import {
  type Field,
  fieldsOf,
  firstObject,
  firstValue,
  numberFrom,
  numbersFrom,
  pointsFrom,
  pointsText,
  usualText,
  valueText,
  wordsFrom,
} from './schema.ts';

export interface Around {
  owner: string; ///< whose field it is, in words; names the undo step
  problems: FileProblem[];
  bodies: string[];
  parts: { part: string; name: string }[];
}

/// A text box that hands on what was typed when typing rests, on Enter and on leaving.
function Draft({
  text,
  onCommit,
  unit,
  describedBy,
  name,
  bad,
  suggestions,
  width,
  placeholder,
}: {
  text: string;
  onCommit: (text: string) => void;
  unit?: string;
  describedBy?: string;
  name: string;
  bad?: boolean;
  suggestions?: string[];
  width?: number | string;
  placeholder?: string;
}) {
  const [draft, setDraft] = useState<string | null>(null);
  const timer = useRef<ReturnType<typeof setTimeout> | undefined>(undefined);
  const latest = useRef({ text, onCommit });
  latest.current = { text, onCommit };
  // What was handed on once is not handed on again: meanwhile it may have been undone, or changed in another tab.
  const committed = useRef<string | null>(null);
  const commit = (value: string) => {
    clearTimeout(timer.current);
    if (value === latest.current.text || value === committed.current) return;
    committed.current = value;
    latest.current.onCommit(value);
  };
  const pending = useRef<string | null>(null);
  pending.current = draft;
  // A field that disappears (another function chosen) must not lose what was typed into it.
  useEffect(
    () => () => {
      if (pending.current !== null) commit(pending.current);
      else clearTimeout(timer.current);
    },
    [],
  );
  const change = (value: string) => {
    setDraft(value);
    clearTimeout(timer.current);
    // Long enough to type "160" without designing for 1 and 16 first.
    if (value.trim() !== '') timer.current = setTimeout(() => commit(value), 600);
  };
  const common = {
    size: 'xs' as const,
    'aria-label': name,
    'aria-describedby': describedBy,
    error: bad === true,
    placeholder,
    w: width ?? 132,
    value: draft ?? text,
    autoComplete: 'off',
    onBlur: () => {
      if (draft !== null) commit(draft);
      setDraft(null);
      committed.current = null;
    },
    onKeyDown: (e: React.KeyboardEvent<HTMLInputElement>) => {
      if (e.key === 'Enter' && draft !== null) commit(draft);
      if (e.key === 'Escape') {
        clearTimeout(timer.current);
        setDraft(null);
      }
    },
    rightSection: unit ? <span className="unit">{unit}</span> : undefined,
    rightSectionWidth: unit ? `${Math.max(26, unit.length * 7 + 14) / 16}rem` : undefined,
    rightSectionPointerEvents: 'none' as const,
  };
  if (suggestions && suggestions.length > 0) {
    return (
      <Autocomplete
        {...common}
        data={suggestions}
        onChange={change}
        limit={40}
        comboboxProps={{ width: 260, position: 'bottom-end' }}
      />
    );
  }
  return <TextInput {...common} onChange={(e) => change(e.currentTarget.value)} />;
}

function suggestionsFor(field: Field, around: Around): string[] {
  const text = `${field.key} ${field.note}`.toLowerCase();
  if (/\bpart\b|part class|id of the kit system/.test(text)) return around.parts.map((p) => p.part);
  if (/\bbody\b|\bbodies\b|^parent|^moves|_on\b/.test(text)) return around.bodies;
  return [];
}

const kAxes = ['x', 'y', 'z'];

interface ControlProps {
  field: Field;
  value: Json | undefined;
  pointer: string;
  around: Around;
  describedBy: string;
  bad: boolean;
}

function Control({ field, value, pointer, around, describedBy, bad }: ControlProps) {
  const name = `${label(field.key)}, ${around.owner}`;
  const what = `${label(field.key).toLowerCase()} of ${around.owner}`;
  const unit = unitText(field.unit);
  const set = (v: Json | undefined, at = pointer) => {
    if (v === undefined) {
      if (!field.required) void edit(`leave ${what} out`, [{ op: 'remove', at }]);
    } else void edit(`set ${what}`, [{ op: 'set', at, value: v }]);
  };
  const box = { unit, describedBy, bad };
  const { sort } = field;
  switch (sort.is) {
    case 'number':
      return <Draft {...box} name={name} text={valueText(value)} onCommit={(t) => set(numberFrom(t))} />;
    case 'triple':
      if (isObject(value)) {
        return (
          <div className="cells">
            {['low', 'nominal', 'high'].map((k) => (
              <label key={k} className="cell">
                <span>{k}</span>
                <Draft
                  {...box}
                  unit=""
                  width={58}
                  name={`${k}, ${name}`}
                  text={valueText(value[k])}
                  onCommit={(t) => set(numberFrom(t) ?? '', pointer + join(k))}
                />
              </label>
            ))}
            <Button
              size="compact-xs"
              variant="subtle"
              title="one figure instead of a range"
              onClick={() => set(value.nominal ?? 0)}
            >
              one figure
            </Button>
          </div>
        );
      }
      return (
        <div className="cells">
          <Draft {...box} name={name} text={valueText(value)} onCommit={(t) => set(numberFrom(t))} />
          <Button
            size="compact-xs"
            variant="subtle"
            title="say how sure it is: low, nominal, high"
            disabled={typeof value !== 'number'}
            onClick={() => set({ low: value ?? 0, nominal: value ?? 0, high: value ?? 0 })}
          >
            range
          </Button>
        </div>
      );
    case 'flag':
      return (
        <SegmentedControl
          size="xs"
          aria-label={name}
          value={value === true ? 'yes' : value === false ? 'no' : ''}
          data={[
            { value: 'yes', label: 'yes' },
            { value: 'no', label: 'no' },
          ]}
          onChange={(v) => set(v === 'yes')}
        />
      );
    case 'choice': {
      const known = sort.of.includes(valueText(value));
      return (
        <NativeSelect
          size="xs"
          w={132}
          aria-label={name}
          aria-describedby={describedBy}
          error={bad}
          value={valueText(value)}
          data={[
            ...(known ? [] : [{ value: valueText(value), label: valueText(value) || 'choose' }]),
            ...sort.of.map((o) => ({ value: o, label: words(o) })),
          ]}
          onChange={(e) => set(e.currentTarget.value)}
        />
      );
    }
    case 'text':
      return field.key === 'description' || field.key === 'reason' || field.key === 'name' ? (
        <Draft {...box} name={name} width="100%" text={valueText(value)} onCommit={(t) => set(t)} />
      ) : (
        <Draft
          {...box}
          name={name}
          width={170}
          text={valueText(value)}
          suggestions={suggestionsFor(field, around)}
          onCommit={(t) => set(t === '' ? undefined : t)}
        />
      );
    case 'words':
      return (
        <Draft
          {...box}
          name={name}
          width={220}
          text={valueText(value)}
          onCommit={(t) => set(wordsFrom(t))}
          suggestions={Array.isArray(value) ? [] : suggestionsFor(field, around)}
        />
      );
    case 'numbers':
      return <Draft {...box} name={name} width={170} text={valueText(value)} onCommit={(t) => set(numbersFrom(t))} />;
    case 'points':
      return (
        <Draft
          {...box}
          name={name}
          width="100%"
          text={pointsText(value)}
          placeholder="x, y; x, y; x, y"
          onCommit={(t) => set(pointsFrom(t))}
        />
      );
    case 'vector': {
      const list = Array.isArray(value) ? value : [];
      const pair = sort.size === 2 && !/_(mm|p)$/.test(field.key); // two figures that are no place are a range
      return (
        <div className="cells">
          {Array.from({ length: sort.size }, (_, i) => {
            const head = pair ? (i === 0 ? 'from' : 'to') : (kAxes[i] ?? String(i + 1));
            return (
              <label key={i} className="cell">
                <span>{head}</span>
                <Draft
                  {...box}
                  unit={i === sort.size - 1 ? unit : ''}
                  width={i === sort.size - 1 && unit ? 84 : 58}
                  name={`${head}, ${name}`}
                  text={valueText(list[i])}
                  onCommit={(t) =>
                    set(Array.from({ length: sort.size }, (_, k) => (k === i ? (numberFrom(t) ?? 0) : (list[k] ?? 0))))
                  }
                />
              </label>
            );
          })}
        </div>
      );
    }
    case 'group':
      if (sort.fields.every((f) => f.sort.is === 'vector' && f.sort.size === 2 && kAxes.includes(f.key))) {
        return (
          <Ranges fields={sort.fields} value={isObject(value) ? value : {}} pointer={pointer} name={name} bad={bad} />
        );
      }
      return (
        <Group fields={sort.fields} value={isObject(value) ? value : {}} pointer={pointer} around={around} nested />
      );
    case 'rows':
      return (
        <Rows
          of={sort.of}
          value={Array.isArray(value) ? value : []}
          pointer={pointer}
          around={around}
          what={label(field.key)}
        />
      );
    case 'other':
      return (
        <Draft
          {...box}
          name={name}
          width={220}
          text={valueText(value)}
          onCommit={(t) => {
            let parsed: Json = t;
            try {
              parsed = JSON.parse(t) as Json;
            } catch {
              /* stays text; the server judges it */
            }
            set(parsed);
          }}
        />
      );
  }
}

/// A box or a region: one line of from and to for each axis.
function Ranges({
  fields,
  value,
  pointer,
  name,
  bad,
}: {
  fields: Field[];
  value: JsonObject;
  pointer: string;
  name: string;
  bad: boolean;
}) {
  const set = (key: string, i: number, text: string) => {
    const old = Array.isArray(value[key]) ? value[key] : [];
    const pair: Json[] = [0, 1].map((k) => (k === i ? (numberFrom(text) ?? 0) : (old[k] ?? 0)));
    void edit(`set ${name.toLowerCase().replace(',', ' of')}`, [{ op: 'set', at: pointer + join(key), value: pair }]);
  };
  return (
    <div className="ranges">
      {fields
        .filter((f) => f.required || f.key in value)
        .map((f) => (
          <span key={f.key} className="range-axis" title={sentence(f.note)}>
            <b>{f.key}</b>
            {[0, 1].map((i) => (
              <Draft
                key={i}
                width={52}
                bad={bad}
                name={`${f.key} ${i === 0 ? 'from' : 'to'}, ${name}`}
                onCommit={(t) => set(f.key, i, t)}
                text={valueText(Array.isArray(value[f.key]) ? (value[f.key] as Json[])[i] : undefined)}
              />
            ))}
          </span>
        ))}
      {fields
        .filter((f) => !f.required && !(f.key in value))
        .map((f) => (
          <Button key={f.key} size="compact-xs" variant="subtle" onClick={() => set(f.key, 0, '0')}>
            bound {f.key}
          </Button>
        ))}
      <span className="unit">p, from to</span>
    </div>
  );
}

function Said({ problems, id }: { problems: FileProblem[]; id: string }) {
  return (
    <div id={id} className="said">
      {problems.map((p, i) => (
        <p key={i} className={p.severity === 'error' ? 'said-error' : 'said-warning'}>
          <Glyph of={p.severity === 'error' ? 'short' : 'warning'} /> {told(p)}
        </p>
      ))}
    </div>
  );
}

export function FieldRow({
  field,
  value,
  pointer,
  around,
}: {
  field: Field;
  value: Json | undefined;
  pointer: string;
  around: Around;
}) {
  const id = useId();
  const wide =
    field.sort.is === 'group' ||
    field.sort.is === 'rows' ||
    field.sort.is === 'points' ||
    field.key === 'description' ||
    field.key === 'name';
  const own = problemsAt(around.problems, pointer).filter((p) => !(wide && p.at !== pointer));
  const what = `${label(field.key).toLowerCase()} of ${around.owner}`;
  return (
    <div className={wide ? 'field field-wide' : 'field'}>
      <div className="field-name">
        <span className="field-label">{label(field.key)}</span>
        {field.note && (
          <span className="field-note" title={sentence(field.note)}>
            {sentence(field.note)}
          </span>
        )}
      </div>
      <div className="field-control">
        <Control field={field} value={value} pointer={pointer} around={around} describedBy={id} bad={own.length > 0} />
      </div>
      {field.required ? (
        <span />
      ) : (
        <ActionIcon
          size="sm"
          variant="subtle"
          color="gray"
          title={`leave ${what} out`}
          aria-label={`leave ${what} out`}
          onClick={() => void edit(`leave ${what} out`, [{ op: 'remove', at: pointer }])}
        >
          <Glyph of="cross" />
        </ActionIcon>
      )}
      <Said problems={own} id={id} />
    </div>
  );
}

/// The keys that are set (and those that must be), then the rest with what is assumed for them.
export function Group({
  fields,
  value,
  pointer,
  around,
  nested,
  open,
}: {
  fields: Field[];
  value: JsonObject;
  pointer: string;
  around: Around;
  nested?: boolean;
  open?: boolean;
}) {
  const [all, setAll] = useState(open ?? false);
  const shown = fields.filter((f) => f.required || f.key in value);
  const rest = fields.filter((f) => !f.required && !(f.key in value));
  const add = (f: Field) =>
    void edit(`set ${label(f.key).toLowerCase()} of ${around.owner}`, [
      { op: 'set', at: pointer + join(f.key), value: firstValue(f) },
    ]);
  // A key that this version does not know must stay in view: it may be a slip of the pen.
  const strange = Object.keys(value).filter((k) => k !== 'wants' && !fields.some((f) => f.key === k));
  return (
    <div className={nested ? 'group group-nested' : 'group'}>
      {shown.map((f) => (
        <FieldRow key={f.key} field={f} value={value[f.key]} pointer={pointer + join(f.key)} around={around} />
      ))}
      {strange.map((k) => (
        <FieldRow
          key={k}
          value={value[k]}
          pointer={pointer + join(k)}
          around={around}
          field={{
            key: k,
            sort: { is: 'other' },
            unit: '',
            note: 'not known here',
            required: false,
            usual: undefined,
            schema: {},
          }}
        />
      ))}
      {rest.length > 0 && (
        <div className="rest">
          <button type="button" className="rest-head" aria-expanded={all} onClick={() => setAll(!all)}>
            <Glyph of={all ? 'down' : 'right'} /> {rest.length} left open{nested ? '' : ': Kitwright takes its default'}
          </button>
          {all &&
            rest.map((f) => (
              <div key={f.key} className="rest-row">
                <div className="field-name">
                  <span className="field-label">
                    {label(f.key)}
                    {f.unit ? <span className="rest-unit">, {unitText(f.unit)}</span> : null}
                  </span>
                  <span className="field-note" title={sentence(f.note)}>
                    {sentence(f.note)}
                  </span>
                </div>
                <span className="rest-usual">{usualText(f) || '–'}</span>
                <Button size="compact-xs" variant="default" aria-label={`set ${label(f.key)}`} onClick={() => add(f)}>
                  set
                </Button>
              </div>
            ))}
        </div>
      )}
    </div>
  );
}

function Rows({
  of,
  value,
  pointer,
  around,
  what,
}: {
  of: JsonObject;
  value: Json[];
  pointer: string;
  around: Around;
  what: string;
}) {
  const fields = fieldsOf(of);
  const one = what.replace(/ies$/, 'y').replace(/s$/, '').toLowerCase();
  return (
    <div className="rows">
      {value.map((item, i) => {
        const object = isObject(item) ? item : {};
        const title = valueText(object.id ?? object.name ?? object.part) || `${one} ${i + 1}`;
        return (
          <fieldset key={i} className="row-card">
            <legend>{title}</legend>
            <Group
              fields={fields}
              value={object}
              pointer={pointer + join(i)}
              around={{ ...around, owner: title }}
              nested
            />
            <Button
              size="compact-xs"
              variant="subtle"
              color="red"
              aria-label={`remove ${title}`}
              onClick={() => void edit(`remove ${one} ${title}`, [{ op: 'remove', at: pointer + join(i) }])}
            >
              remove
            </Button>
          </fieldset>
        );
      })}
      <Button
        size="compact-xs"
        variant="default"
        onClick={() =>
          void edit(`add ${one}`, [
            value.length === 0
              ? { op: 'set', at: pointer, value: [firstObject(of)] }
              : { op: 'insert', at: pointer + '/-', value: firstObject(of) },
          ])
        }
      >
        add {one}
      </Button>
    </div>
  );
}
export { Rows };
