// What the machine as a whole is and must keep to, and how well it does.
import { Button } from '@mantine/core';
import { useState } from 'react';

import type { Json, JsonObject } from '../contract.ts';
import { amount, label, margin, number, percent, told, words } from '../data/format.ts';
import { entries, useStale } from '../data/picture.ts';
import { go } from '../data/place.ts';
import { getState, replaceText, useStore } from '../data/store.ts';
import { useAround } from '../form/around.ts';
import { Group, Rows } from '../form/fields.tsx';
import { fieldsOf, section, sortOf } from '../form/schema.ts';
import { Glyph } from '../parts/glyph.tsx';
import { Head, Waiting } from '../parts/states.tsx';
import { isObject } from '../data/pointer.ts';

const kSections = [
  'project',
  'limits',
  'supply',
  'support',
  'bodies',
  'reserves',
  'zones',
  'placed',
  'openables',
  'parameters',
  'decals',
];
const kTitles: Record<string, string> = {
  project: 'Name and kit',
  limits: 'What the whole must keep to',
  supply: 'Hubs and cells',
  support: 'How it stands',
  bodies: 'Bodies and joints',
  reserves: 'Parts kept back',
  zones: 'Colours of what is seen',
  placed: 'Things with a place of their own',
  openables: 'Doors, covers and flaps',
  decals: 'Stickers',
  parameters: 'Friction, losses and strength',
};

function FileText() {
  const text = useStore((s) => s.project?.text ?? '');
  const [draft, setDraft] = useState<string | null>(null);
  return (
    <div className="filetext">
      <textarea
        aria-label="project file"
        spellCheck={false}
        value={draft ?? text}
        onChange={(e) => setDraft(e.currentTarget.value)}
      />
      <div className="tools">
        <Button
          size="compact-sm"
          disabled={draft === null || draft === text}
          onClick={() => {
            if (draft !== null) void replaceText(draft).then(() => setDraft(null));
          }}
        >
          Take over
        </Button>
        <Button size="compact-sm" variant="default" disabled={draft === null} onClick={() => setDraft(null)}>
          Discard
        </Button>
      </div>
    </div>
  );
}

export function MachineWants() {
  const schema = useStore((s) => s.schema);
  const document = useStore((s) => s.project?.document);
  const name = useStore((s) => s.session?.name ?? '');
  const around = useAround('the machine');
  if (!schema || !document) return <Waiting text="Reading the project" />;
  return (
    <>
      <Head
        title="The whole machine"
        lead={
          typeof (document.project as JsonObject | undefined)?.description === 'string'
            ? String((document.project as JsonObject).description)
            : `What ${name || 'the model'} is, stands on and must keep to.`
        }
      />
      <div className="split">
        <div className="form">
          {kSections.map((key) => {
            const s = section(schema, key);
            if (Object.keys(s).length === 0) return null;
            const value = document[key];
            const sort = sortOf(s);
            const size = Array.isArray(value) ? ` (${value.length})` : isObject(value) ? '' : ' (none)';
            return (
              <details key={key} className="section" open={key === 'limits' || key === 'supply'}>
                <summary>
                  {kTitles[key] ?? label(key)}
                  {size}
                </summary>
                {sort.is === 'rows' ? (
                  <Rows
                    of={sort.of}
                    value={Array.isArray(value) ? value : []}
                    pointer={'/' + key}
                    around={around}
                    what={label(key)}
                  />
                ) : (
                  <Group
                    fields={fieldsOf(s)}
                    value={isObject(value) ? value : {}}
                    pointer={'/' + key}
                    around={around}
                    open={key === 'limits' && !value}
                  />
                )}
              </details>
            );
          })}
          <details className="section">
            <summary>
              The file itself<span className="section-note">project.toml, comments and all</span>
            </summary>
            <FileText />
          </details>
        </div>
        <MachineReached />
      </div>
    </>
  );
}

function Against({
  name,
  value,
  limit,
  unit,
  note,
  more,
}: {
  name: string;
  value: number | null | undefined;
  limit: Json | undefined;
  unit: string;
  note: string;
  more?: boolean;
}) {
  const asked = typeof limit === 'number' ? limit : null;
  const ok = asked === null || value === null || value === undefined || (more ? value >= asked : value <= asked);
  return (
    <tr className={ok ? '' : 'short'}>
      <th scope="row">
        <span className="margin-name">
          <Glyph of={asked === null ? 'note' : ok ? 'meets' : 'short'} />
          {name}
        </span>
        <span className="margin-note">{note}</span>
      </th>
      <td className="num strong">{amount(value, unit)}</td>
      <td className="num">
        {asked === null ? 'no limit set' : `${more ? 'at least' : 'at most'} ${amount(asked, unit)}`}
      </td>
    </tr>
  );
}

function MachineReached() {
  const old = useStale();
  const a = useStore((s) => s.result?.design.assessment);
  const design = useStore((s) => s.result?.design);
  const document = useStore((s) => s.project?.document);
  const problems = useStore((s) => s.project?.problems ?? []);
  const limits = isObject(document?.limits) ? document.limits : {};
  const list = entries(getState());
  return (
    <section className={old ? 'reached stale' : 'reached'} aria-label="what the machine reaches">
      {old && <p className="stale-tag">These figures are from before your last change.</p>}
      {problems.length > 0 && (
        <ul className="problems">
          {problems.map((p, i) => (
            <li key={i} className={p.severity === 'error' ? 'said-error' : 'said-warning'}>
              <Glyph of={p.severity === 'error' ? 'short' : 'warning'} /> {p.line > 0 ? `Line ${p.line}: ` : ''}
              {told(p)}
              {p.code === 'design.uncounted_rows' && (
                <>
                  {' '}
                  <button type="button" className="link" onClick={() => go({ view: 'stock' })}>
                    See them in Stock
                  </button>
                </>
              )}
            </li>
          ))}
        </ul>
      )}
      {!a ? (
        <p className="lead">
          {design?.allocation && !design.allocation.feasible
            ? 'There is no whole design to judge yet; see Findings.'
            : 'Not judged yet.'}
        </p>
      ) : (
        <>
          <table className="margins">
            <thead>
              <tr>
                <th scope="col">The whole</th>
                <th scope="col" className="num">
                  Is
                </th>
                <th scope="col" className="num">
                  Limit
                </th>
              </tr>
            </thead>
            <tbody>
              <Against
                name="Mass"
                value={a.mass_g}
                limit={limits.mass_g}
                unit="g"
                note={`${number(a.mass_interval_g.low)} to ${number(a.mass_interval_g.high)} g${a.mass_is_estimate ? ', partly estimated' : ''}`}
              />
              {a.stance.judged && (
                <Against
                  more
                  name="Least tipping angle"
                  value={a.stance.least_deg}
                  limit={limits.tipping_angle_deg}
                  unit="deg"
                  note={a.stance.worst_text}
                />
              )}
              <Against
                more
                name="Run time"
                value={a.power.run_time_min.nominal}
                limit={limits.run_time_min}
                unit="min"
                note={`${number(a.power.run_time_min.low)} to ${number(a.power.run_time_min.high)} min`}
              />
            </tbody>
          </table>
          <dl className="facts">
            <div>
              <dt>Weakest margin</dt>
              <dd>{margin(design?.allocation?.worst_margin)}</dd>
            </div>
            <div>
              <dt>Sure to</dt>
              <dd>{percent(a.certainty.confidence)}</dd>
            </div>
            <div>
              <dt>Functions</dt>
              <dd>
                {list.filter((e) => e.result?.chosen).length} of {list.length}
              </dd>
            </div>
            <div>
              <dt>Parts used</dt>
              <dd>{a.parts_used}</dd>
            </div>
            <div>
              <dt>Left</dt>
              <dd>{a.parts_left.toLocaleString('en')}</dd>
            </div>
          </dl>
          <table className="margins">
            <thead>
              <tr>
                <th scope="col">Body</th>
                <th scope="col" className="num">
                  Mass
                </th>
                <th scope="col" className="num">
                  of it mechanism
                </th>
                <th scope="col">From</th>
              </tr>
            </thead>
            <tbody>
              {a.bodies.map((b) => (
                <tr key={b.body}>
                  <th scope="row">{words(b.body)}</th>
                  <td className="num">{amount(b.mass_g.nominal, 'g')}</td>
                  <td className="num">{amount(b.parts_g, 'g')}</td>
                  <td>{b.estimate ? 'estimated' : 'given'}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </>
      )}
    </section>
  );
}
