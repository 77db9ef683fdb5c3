// What the assessment wants known, worst first; with no design, what stands in the way and the ways out that were computed.
import { Button } from '@mantine/core';

import type { Change, FileProblem, Finding, FunctionResult, PairsOut, WayOut } from '../contract.ts';
import { editsOf } from '../data/changes.ts';
import { amount, count, hintText, humane, margin, sentence, words } from '../data/format.ts';
import { useBusy, entries, useStale } from '../data/picture.ts';
import { go } from '../data/place.ts';
import { edit, getState, useStore } from '../data/store.ts';
import { Glyph } from '../parts/glyph.tsx';
import { asked, MarginBar, meets } from '../parts/margins.tsx';
import { Head, Nothing, Waiting } from '../parts/states.tsx';
import { Rejections } from '../parts/rejections.tsx';

const kOrder: Record<string, number> = { problem: 0, warning: 1, note: 2 };
const kHeads: Record<string, string> = { problem: 'Stops it', warning: 'Watch this', note: 'Good to know' };
const kGlyphs: Record<string, string> = { problem: 'short', warning: 'warning', note: 'note' };

const kNone: FileProblem[] = [];

/// The function in whose table a problem is.
function ownerOf(p: FileProblem): string {
  const index = /^\/functions\/(\d+)/.exec(p.at ?? '')?.[1];
  return index === undefined ? '' : (entries(getState())[Number(index)]?.id ?? '');
}

/// Pieces in full, other amounts in their unit.
function needed(value: number, unit: string): string {
  return unit === '' ? String(value) : amount(value, unit, 4);
}

/// A problem of the parts list, not of the project file.
function ofStock(p: FileProblem): boolean {
  return /\.csv$/i.test(p.file ?? '') || (p.code ?? '').startsWith('stock.');
}

/// "stock.csv, line 3: "
function whereOf(p: FileProblem): string {
  const name = (p.file ?? '').split(/[\\/]/).at(-1) ?? '';
  const file = ofStock(p) && name && !name.startsWith('--') ? name : '';
  const line = p.line > 0 ? `line ${p.line}` : '';
  const both = [file, line].filter((t) => t).join(', ');
  return both ? `${file ? both : sentence(both)}: ` : '';
}

/// One click that does what the text says; undo takes it back. Nothing where the project file has no words for it.
function DoIt({ text, changes, name = 'Do this' }: { text: string; changes: Change[]; name?: string }) {
  const document = useStore((s) => s.project?.document);
  const old = useStale();
  const edits = document ? editsOf(changes, document) : null;
  if (!edits) return null;
  return (
    <Button
      size="compact-xs"
      disabled={old}
      title={`Changes ${count(edits.length, 'value')} of the project; undo takes it back.`}
      onClick={() => void edit(humane(text), edits)}
    >
      {name}
    </Button>
  );
}

/// Where the changes lead by hand.
function Places({ ways }: { ways: WayOut[] }) {
  return (
    <>
      {ways.some((w) => w.pieces.length > 0) && (
        <Button size="compact-xs" variant="default" onClick={() => go({ view: 'stock' })}>
          Stock
        </Button>
      )}
      {[...new Set(ways.flatMap((w) => w.functions))].map((f) => (
        <Button key={f} size="compact-xs" variant="default" onClick={() => go({ view: 'wants', chosen: f })}>
          Wants of {words(f)}
        </Button>
      ))}
    </>
  );
}

/// Parts that functions cannot do without and the stock does not hold, and rows of the list that are in no count: what
/// somebody with a new list meets first.
function Lacking({ functions, problems }: { functions: FunctionResult[]; problems: FileProblem[] }) {
  const stuck = functions.filter((f) => f.examined === 0 && f.kept === 0 && f.rejections.length > 0);
  const uncounted = problems.find((p) => p.code === 'design.uncounted_rows');
  if (stuck.length === 0 && !uncounted) return null;
  return (
    <section>
      <h2>What the parts list lacks</h2>
      <ul className="plain">
        <li className="card">
          {stuck.map((f) => (
            <p key={f.id}>
              <b>{sentence(words(f.id))}</b>: {f.rejections.map((r) => r.text).join('; ')}
            </p>
          ))}
          {uncounted && <p>{uncounted.message}</p>}
          <div className="tools">
            <Button size="compact-xs" variant="default" onClick={() => go({ view: 'stock' })}>
              {uncounted ? 'Settle those rows in Stock' : 'Stock'}
            </Button>
          </div>
        </li>
      </ul>
    </section>
  );
}

/// Two changes that work together. Both are one step of undo; pieces stand in the stock list, where no click puts them.
function Pairs({ found }: { found: PairsOut }) {
  if (!found.looked_for) return null;
  return (
    <section>
      <h2>Two changes together, each pair computed</h2>
      {found.pairs.length === 0 && found.complete && <p className="lead">No pair of changes is enough either.</p>}
      {found.note && <p className="lead">{found.note}</p>}
      <ol className="ways">
        {found.pairs.map(({ ways, worst_margin }, i) => {
          const text = ways.map((w) => w.text).join(', and ');
          const clicked = ways.filter((w) => w.changes.length > 0);
          const by_hand = ways.filter((w) => w.changes.length === 0);
          return (
            <li key={i} className="card">
              <p>{sentence(humane(text))}</p>
              {worst_margin !== null && (
                <p className="lead">The whole then works with a weakest margin of {margin(worst_margin)}.</p>
              )}
              {clicked.length === 1 && by_hand.length === 1 && (
                <p className="lead">
                  {by_hand[0]?.pieces.length
                    ? 'The pieces belong into the stock list; the button makes the other change.'
                    : 'Only one of the two can be made with a click; the other is yours.'}
                </p>
              )}
              <div className="tools">
                <DoIt
                  text={clicked.map((w) => w.text).join(', and ')}
                  changes={clicked.flatMap((w) => w.changes)}
                  name={clicked.length > 1 ? 'Do both' : 'Do that one'}
                />
                <Places ways={ways} />
              </div>
            </li>
          );
        })}
      </ol>
    </section>
  );
}

function WaysOut({ ways }: { ways: WayOut[] }) {
  return (
    <section>
      <h2>Ways out, each one computed</h2>
      {ways.length === 0 && (
        <p className="lead">
          None was found. Loosen a figure in Wants, or look at the nearest candidates in Mechanism.
        </p>
      )}
      <ol className="ways">
        {ways.map((w, i) => {
          return (
            <li key={i} className="card">
              <p>{sentence(humane(w.text))}</p>
              {w.worst_margin !== null && (
                <p className="lead">The whole then works with a weakest margin of {margin(w.worst_margin)}.</p>
              )}
              <div className="tools">
                <DoIt text={w.text} changes={w.changes} />
                <Places ways={[w]} />
              </div>
            </li>
          );
        })}
      </ol>
    </section>
  );
}

function OneFinding({ finding: f }: { finding: Finding }) {
  const remedies = f.remedies;
  const long = f.numbers.length > 5;
  return (
    <li className={`card finding finding-${f.severity}`}>
      <p className="finding-text">
        <Glyph of={kGlyphs[f.severity] ?? 'note'} size={16} /> <span>{humane(f.text)}</span>
      </p>
      {f.numbers.length > 0 && !f.text.includes(f.numbers[0]?.name ?? '\u0000') && (
        <dl className="facts">
          {f.numbers.slice(0, long ? 5 : undefined).map((n, i) => (
            <div key={i}>
              <dt>{sentence(n.name)}</dt>
              <dd>{amount(n.value, n.unit)}</dd>
            </div>
          ))}
        </dl>
      )}
      {remedies.length > 0 && (
        <ul className="remedies">
          {remedies.map((r, i) => (
            <li key={i}>
              <span className="remedy-tag">{r.enough ? 'enough' : 'helps'}</span>
              <span>
                {sentence(humane(r.text))}
                {r.before !== null && r.after !== null
                  ? ` (${r.what ? `${humane(r.what)} ` : ''}${amount(r.before, r.unit)} → ${amount(r.after, r.unit)})`
                  : ''}
              </span>
              <DoIt text={r.text} changes={r.changes} />
            </li>
          ))}
        </ul>
      )}
      {f.function && (
        <div className="tools">
          <Button size="compact-xs" variant="default" onClick={() => go({ view: 'wants', chosen: f.function })}>
            Wants of {words(f.function)}
          </Button>
        </div>
      )}
    </li>
  );
}

/// The narrowest limits over all functions: what to change first if more is wanted.
function Narrowest({ functions }: { functions: FunctionResult[] }) {
  const all = functions
    .flatMap((f) => (f.chosen ? f.chosen.margins.map((m) => ({ f, m })) : []))
    .sort((a, b) => a.m.ratio - b.m.ratio)
    .slice(0, 8);
  if (all.length === 0) return null;
  return (
    <section className="panel">
      <h2>What limits it most</h2>
      <ul className="plain narrowest">
        {all.map(({ f, m }, i) => (
          <li key={i}>
            <button type="button" className="narrowest-row" onClick={() => go({ view: 'wants', chosen: f.id })}>
              <span>
                <b>{words(f.id)}</b>, {m.name}
              </span>
              <span className={meets(m.ratio) ? 'num strong' : 'num strong short-text'}>{margin(m.ratio)}</span>
              <MarginBar ratio={m.ratio} interval={m.interval ?? null} slim />
              <span className="margin-figures">
                {amount(m.capability, m.unit)} reached, {asked(m)} asked{m.note ? `; ${m.note}` : ''}
              </span>
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}

/// Why those functions have no way at all: the reasons that were met most often.
function Stuck({ functions }: { functions: FunctionResult[] }) {
  if (functions.length === 0) return null;
  return (
    <section className="panel">
      <h2>Where the search ran out</h2>
      {functions.map((f) => (
        <div key={f.id}>
          <b>{sentence(words(f.id))}</b>
          <Rejections list={f.rejections} examined={f.examined} complete={f.complete} limit={f.limit} open />
        </div>
      ))}
    </section>
  );
}

export function Findings() {
  const result = useStore((s) => s.result);
  const running = useBusy();
  const old = useStale();
  const problems = useStore((s) => s.project?.problems ?? kNone);
  const mistakes = useStore((s) => s.mistakes);
  if (!result)
    return running ? (
      <Waiting text="The design is being computed" />
    ) : (
      <Nothing title="Nothing found yet">
        There is no result. Change something in Wants, and a design starts by itself.
      </Nothing>
    );
  const d = result.design;
  const findings = [...(d.assessment?.findings ?? [])].sort(
    (a, b) => (kOrder[a.severity] ?? 9) - (kOrder[b.severity] ?? 9),
  );
  const conflicts = d.allocation?.conflicts ?? [];
  const ways = d.allocation?.ways_out ?? [];
  const faults = problems.filter((p) => p.severity === 'error');
  const groups = ['problem', 'warning', 'note']
    .map((s) => ({ s, list: findings.filter((f) => f.severity === s) }))
    .filter((g) => g.list.length > 0);
  return (
    <>
      <Head
        title="Findings"
        lead={
          mistakes
            ? d.status === 'bad_input'
              ? 'The project has mistakes; mend them first.'
              : 'The project has mistakes; until they are mended, the rest is from before them.'
            : d.status === 'feasible'
              ? 'The design stands. This is what limits it and what to know before building.'
              : 'What stands in the way, and what would free it.'
        }
      />
      <div className={old ? 'findings stale' : 'findings'}>
        <div className="narrow">
          {old && <p className="stale-tag">From before your last change.</p>}
          {faults.length > 0 && (
            <section>
              <h2>Mistakes in the project</h2>
              <ul className="plain">
                {faults.map((p, i) => (
                  <li key={i} className="card finding-problem">
                    <p className="finding-text">
                      <Glyph of="short" size={16} />
                      <span>
                        {whereOf(p)}
                        {p.message}
                      </span>
                    </p>
                    {ofStock(p) && (
                      <div className="tools">
                        <Button size="compact-xs" variant="default" onClick={() => go({ view: 'stock' })}>
                          Open Stock
                        </Button>
                      </div>
                    )}
                    {ownerOf(p) && (
                      <div className="tools">
                        <Button
                          size="compact-xs"
                          variant="default"
                          onClick={() => go({ view: 'wants', chosen: ownerOf(p) })}
                        >
                          Wants of {words(ownerOf(p))}
                        </Button>
                      </div>
                    )}
                    {hintText(p) && <p className="lead">{hintText(p)}</p>}
                  </li>
                ))}
              </ul>
            </section>
          )}
          {conflicts.length > 0 && (
            <section>
              <h2>
                {conflicts.some((c) => c.members.length > 1)
                  ? 'These cannot all be had together'
                  : 'This cannot be had'}
              </h2>
              <ul className="plain">
                {conflicts.map((c, i) => (
                  <li key={i} className="card finding-problem">
                    <p className="finding-text">
                      <Glyph of="short" size={16} />
                      <span>{humane(c.text)}</span>
                    </p>
                    {c.resources.map((r, k) => (
                      <table key={k} className="margins">
                        <thead>
                          <tr>
                            <th scope="col">{sentence(words(r.what))}</th>
                            <th scope="col" className="num">
                              at least
                            </th>
                          </tr>
                        </thead>
                        <tbody>
                          {r.demands.map((x, j) => (
                            <tr key={j}>
                              <th scope="row">
                                {words(x.who)}
                                {x.reserve ? ' (kept back)' : ''}
                              </th>
                              <td className="num">{needed(x.least, r.unit)}</td>
                            </tr>
                          ))}
                          <tr className="short">
                            <th scope="row">together {needed(r.needed, r.unit)}, there are</th>
                            <td className="num strong">{needed(r.available, r.unit)}</td>
                          </tr>
                        </tbody>
                      </table>
                    ))}
                    <div className="tools">
                      {c.members.map((m) => (
                        <Button
                          key={m}
                          size="compact-xs"
                          variant="default"
                          onClick={() => go({ view: 'wants', chosen: m })}
                        >
                          Wants of {words(m)}
                        </Button>
                      ))}
                    </div>
                  </li>
                ))}
              </ul>
            </section>
          )}
          {d.allocation?.feasible === false && <Lacking functions={d.functions ?? []} problems={problems} />}
          {(conflicts.length > 0 || ways.length > 0) && <WaysOut ways={ways} />}
          {d.allocation && <Pairs found={d.allocation.pairs_out} />}
          {groups.map((g) => (
            <section key={g.s}>
              <h2>{kHeads[g.s]}</h2>
              <ul className="plain">
                {g.list.map((f, i) => (
                  <OneFinding key={i} finding={f} />
                ))}
              </ul>
            </section>
          ))}
          {findings.length === 0 && conflicts.length === 0 && faults.length === 0 && (
            <Nothing inner title="Nothing to report">
              Every limit is kept and nothing was used up.
            </Nothing>
          )}
        </div>
        {d.allocation?.feasible === false ? (
          <Stuck functions={(d.functions ?? []).filter((f) => f.meet_all === 0)} />
        ) : (
          <Narrowest functions={d.functions ?? []} />
        )}
      </div>
    </>
  );
}
