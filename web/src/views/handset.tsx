// What the driver holds: which control moves what, senses and ramps; and the set-up guide for somebody who has never done it.
import { Button, Checkbox } from '@mantine/core';

import type { HandsetPlan } from '../contract.ts';
import { get } from '../data/api.ts';
import { amount, number, percent, sentence, words } from '../data/format.ts';
import { go } from '../data/place.ts';
import { isObject } from '../data/pointer.ts';
import { useResource } from '../data/resource.ts';
import { edit, useStore } from '../data/store.ts';
import { Glyph } from '../parts/glyph.tsx';
import { Paper, svgAddress } from '../parts/paper.tsx';
import { Fault, Waiting } from '../parts/states.tsx';

const kInverts: Record<string, string> = {
  yes: 'invert',
  no: 'leave as it is',
  'find out': 'find out at the first start',
};

type Assignment = HandsetPlan['assignments'][number];

function usePlan() {
  const revision = useStore((s) => s.result?.revision ?? 0);
  return useResource(`${revision}|handset`, async (signal) => {
    const answer = await get<{ handset: HandsetPlan }>('/api/handset', signal);
    return answer.handset;
  });
}

function travel(a: Assignment): string {
  const of = (t: Assignment['plus_s']) =>
    number(t.low) === number(t.high) ? amount(t.nominal, 's') : `${number(t.low)} to ${amount(t.high, 's')}`;
  const one = of(a.plus_s);
  const other = of(a.minus_s);
  const both = one === other ? one : `${one} one way, ${other} the other`;
  return a.has_ends ? `${both}, from end to end` : both;
}

export function Handset() {
  const plan = usePlan();
  const document = useStore((s) => s.project?.document);
  const told = isObject(document?.handset) ? document.handset : {};
  if (plan.fault) return <Fault error={plan.fault} again={plan.again} />;
  if (!plan.value) return <Waiting text="The handset is being laid out" />;
  const p = plan.value;
  const layout = p.steps.find((s) => /controls/i.test(s.title));
  return (
    <>
      <div className="handset-tools">
        <Checkbox
          label="Left-handed: the sticks change places"
          checked={told.left_handed === true}
          onChange={(e) =>
            void edit('left-handed', [{ op: 'set', at: '/handset/left_handed', value: e.currentTarget.checked }])
          }
        />
        <Button size="compact-xs" variant="default" onClick={() => go({ view: 'wants', chosen: '' })}>
          Sticks, sliders and buttons
        </Button>
        {p.assumed_handset && <span className="lead">Nobody told what handset there is; a usual one is assumed.</span>}
      </div>
      {p.shortage && (
        <p className="said-warning">
          <Glyph of="warning" /> {sentence(p.shortage)}
        </p>
      )}
      {layout && <Paper src={svgAddress(layout.figure_svg)} alt="Which stick, slider and button moves what." />}
      <section className="card">
        <h2>Controls</h2>
        <div className="scroll-x">
          <table className="margins">
            <thead>
              <tr>
                <th scope="col">Drive</th>
                <th scope="col">Control</th>
                <th scope="col">Sense</th>
                <th scope="col">Motor</th>
                <th scope="col" className="num">
                  Ramp
                </th>
                <th scope="col" className="num">
                  Most
                </th>
                <th scope="col">Time</th>
              </tr>
            </thead>
            <tbody>
              {p.assignments.map((a) => (
                <tr key={a.drive}>
                  <th scope="row">{words(a.drive)}</th>
                  <td>{a.control}</td>
                  <td>
                    {a.ways}
                    {a.mixing && <small className="dim"> gets {a.mixing}</small>}
                  </td>
                  <td title={a.invert_note}>
                    {kInverts[a.invert] ?? a.invert}
                    {a.invert_note && <small className="dim block">{sentence(a.invert_note)}.</small>}
                  </td>
                  <td className="num">{amount(a.ramp_s, 's')}</td>
                  <td className="num" title={a.limit_note}>
                    {percent(a.speed_limit)}
                  </td>
                  <td>{travel(a)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
        {p.left_over.length > 0 && (
          <p className="said-warning">
            <Glyph of="warning" /> No control is left for {p.left_over.map(words).join(', ')}.
          </p>
        )}
      </section>
      <section className="card">
        <h2>Interlocks</h2>
        {p.interlocks.length === 0 ? (
          <p className="lead">No finding asks for one.</p>
        ) : (
          <ul className="plain">
            {p.interlocks.map((x, i) => (
              <li key={i}>
                <b>{sentence(words(x.text))}</b>: {words(x.why)}
              </li>
            ))}
          </ul>
        )}
      </section>
      {p.engine && (
        <section className="card">
          <h2>The ornamental engine follows the load</h2>
          <dl className="facts">
            <div>
              <dt>Idles at</dt>
              <dd>{percent(p.engine.idle)}</dd>
            </div>
            <div>
              <dt>Full at a load of</dt>
              <dd>{percent(p.engine.full_load)}</dd>
            </div>
            <div>
              <dt>Rises in</dt>
              <dd>{amount(p.engine.rise_s, 's')}</dd>
            </div>
            <div>
              <dt>Falls in</dt>
              <dd>{amount(p.engine.fall_s, 's')}</dd>
            </div>
          </dl>
          {p.steps
            .filter((s) => /engine/i.test(s.title))
            .map((s) => (
              <Paper
                key={s.number}
                src={svgAddress(s.figure_svg)}
                alt="The engine's input over the working cycle, with the current of the other motors."
              />
            ))}
          <pre className="program" tabIndex={0}>
            {p.engine.program.join('\n')}
          </pre>
          {p.engine.simple && <p className="lead">{sentence(p.engine.simple)}</p>}
        </section>
      )}
    </>
  );
}

export function Guide() {
  const plan = usePlan();
  if (plan.fault) return <Fault error={plan.fault} again={plan.again} />;
  if (!plan.value) return <Waiting text="The guide is being written" />;
  return (
    <>
      <p className="lead">
        One step after the other, with nothing but the model, its handset and ten minutes.{' '}
        <a href="/api/files/guide.html" download="guide.html">
          Save the guide as a page
        </a>
      </p>
      <ol className="guide">
        {plan.value.steps.map((s) => (
          <li key={s.number} className="card">
            <h2>
              {s.number}. {s.title}
            </h2>
            <Paper src={svgAddress(s.figure_svg)} alt={`${s.title}: the lines below say the same.`} />
            <ul>
              {s.lines.map((line, i) => (
                <li key={i}>{sentence(words(line))}</li>
              ))}
            </ul>
          </li>
        ))}
      </ol>
    </>
  );
}
